/*
 * Center of mass in a window that follows the star, frame by frame, until the position rests. The file holds doubles: frames,
 * side, radius, first x, first y; then the frames.
 */
#include "reference.h"

static void center(const double *frame, int side, double radius, double *px, double *py) {
  double x = *px, y = *py;
  for (int pass = 0; pass < 11; pass++) {
    double total = 0, sum_x = 0, sum_y = 0;
    const int top = fmax(0, ceil(y - radius)), bottom = fmin(side - 1, floor(y + radius));
    for (int row = top; row <= bottom; row++) {
      const double half = sqrt(fmax(0, radius * radius - (row - y) * (row - y)));
      const int from = fmax(0, ceil(x - half)), to = fmin(side - 1, floor(x + half));
      double light = 0, moment = 0;
      for (int column = from; column <= to; column++) {
        const double v = frame[row * side + column];
        light += v;
        moment += v * column;
      }
      total += light;
      sum_x += moment;
      sum_y += light * row;
    }
    const double dx = sum_x / total - x, dy = sum_y / total - y;
    x += dx;
    y += dy;
    if (dx * dx + dy * dy < 0.01 * 0.01) break;
  }
  *px = x;
  *py = y;
}

int main(int argc, char **argv) {
  const double *data = read_doubles(argv[argc - 1]);
  const int frames = data[0], side = data[1];
  long count, done = 0;
  while (scanf("%ld", &count) == 1) {
    double sum = 0;
    const double begin = now();
    for (long i = 0; i < count; i++, done++) {
      double x = data[3], y = data[4];
      center(data + 5 + (done % frames) * side * side, side, data[2], &x, &y);
      sum += x;
    }
    const double seconds = now() - begin;
    printf("%.9g", sum > 0 ? seconds : -1);
    for (int k = 0; k < 32; k++) {
      double x = data[3], y = data[4];
      center(data + 5 + (long)k * side * side, side, data[2], &x, &y);
      printf(" %.12g %.12g", x, y);
    }
    printf("\n");
    fflush(stdout);
  }
  return 0;
}
