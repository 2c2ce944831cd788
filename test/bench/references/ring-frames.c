/*
 * Noisy frames of a ring and their thresholded centers of mass, as one writes it in C: for each pixel a Poisson count
 * (PTRS of Hoermann 1993, Insurance: Mathematics and Economics 12, 39, from a mean of 10 on, products of uniform numbers
 * below) and a normal number (polar method of Marsaglia & Bray 1964, both numbers used).
 */
#include "reference.h"

static double spare;
static int has_spare;

static double normal(void) {
  if (has_spare) {
    has_spare = 0;
    return spare;
  }
  double u, v, r2;
  do {
    u = 2 * uniform() - 1;
    v = 2 * uniform() - 1;
    r2 = u * u + v * v;
  } while (r2 >= 1 || r2 == 0);
  const double f = sqrt(-2 * log(r2) / r2);
  spare = v * f;
  has_spare = 1;
  return u * f;
}

static double poisson(double mean) {
  if (mean < 10) {
    const double limit = exp(-mean);
    double product = uniform();
    int count = 0;
    while (product > limit) {
      count++;
      product *= uniform();
    }
    return count;
  }
  const double b = 0.931 + 2.53 * sqrt(mean);
  const double a = -0.059 + 0.02483 * b;
  const double inverse_alpha = 1.1239 + 1.1328 / (b - 3.4);
  const double squeeze = 0.9277 - 3.6224 / (b - 2);
  for (;;) {
    const double u = uniform() - 0.5;
    const double v = uniform();
    const double r = 0.5 - fabs(u);
    const double k = floor((2 * a / r + b) * u + mean + 0.43);
    if (r >= 0.07 && v <= squeeze) return k;
    if (k < 0 || (r < 0.013 && v > r)) continue;
    if (log(v) + log(inverse_alpha) - log(a / (r * r) + b) <= k * log(mean) - mean - lgamma(k + 1)) return k;
  }
}

int main(int argc, char **argv) {
  if (argc < 2) return 1;
  const double *data = read_doubles(argv[1]);
  const int width = data[0], height = data[1], phases = data[2];
  const double read_noise = data[3], gain = data[4], offset = data[5], highest = data[6], threshold = data[7];
  const double center_x = data[8], center_y = data[9], inner2 = data[10];
  const int size = width * height;
  const double *expected = data + 11;
  const double *truth = expected + phases * size;
  int *border = malloc(size * sizeof(int));
  int borders = 0;
  for (int k = 0; k < size; k++) {
    const double dx = k % width - center_x, dy = k / width - center_y;
    if (dx * dx + dy * dy > inner2) border[borders++] = k;
  }
  double *pixels = malloc(size * sizeof(double));
  seed64(1);
  long count, frame = 0;
  while (scanf("%ld", &count) == 1) {
    double squares = 0;
    const double begin = now();
    for (long i = 0; i < count; i++, frame++) {
      const double *mean = expected + (frame % phases) * size;
      for (int k = 0; k < size; k++) {
        const double electrons = poisson(mean[k]) + read_noise * normal();
        const double adu = fmin(highest, fmax(0, floor(electrons / gain + offset + 0.5)));
        pixels[k] = (adu - offset) * gain;
      }
      double level = 0;
      for (int i = 0; i < borders; i++) level += pixels[border[i]];
      level = level / borders + threshold;
      double sum = 0, sum_x = 0, sum_y = 0;
      for (int y = 0, k = 0; y < height; y++)
        for (int x = 0; x < width; x++, k++) {
          const double w = pixels[k] - level;
          if (w <= 0) continue;
          sum += w;
          sum_x += w * x;
          sum_y += w * y;
        }
      const double dx = sum_x / sum - truth[2 * (frame % phases)];
      const double dy = sum_y / sum - truth[2 * (frame % phases) + 1];
      squares += dx * dx + dy * dy;
    }
    printf("%.9g %.9g %ld\n", now() - begin, squares, 2 * count);
    fflush(stdout);
  }
  return 0;
}
