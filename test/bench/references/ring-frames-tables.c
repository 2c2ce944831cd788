/*
 * Noisy frames of a ring and their thresholded centers of mass by the algorithm of this project (packages/psf/src/one-draw.ts,
 * pixel-tables.ts, condensed-tables.ts), written in C: photons, read noise and rounding of a pixel by one look into a table of
 * 1024 slots, three looks a word; what the slots cannot hold is drawn from a second table and a search; the little that a
 * pixel's mean exceeds its table's by is added electron by electron. The expected frames are made ready once.
 */
#include <string.h>

#include "reference.h"

enum { slot_bits = 10, slots = 1 << slot_bits, second_slots = 256, draw_on = -32768, root_steps = 64, tables = 8192 };

struct table {
  int16_t second[second_slots];
  int held, first, count;
  double *up_to;
};

struct light {
  int32_t *slot;
  double *excess_up_to;
  int32_t *guide;
};

static int16_t *slot_store;
static struct table *store[tables];

static double mean_of(int table) { return ((double)table / root_steps) * ((double)table / root_steps); }

static int fill_slots(int16_t *out, int length, int first, double *p, int count) {
  double sum = 0;
  for (int i = 0; i < count; i++) sum += p[i];
  int at = 0;
  for (int i = 0; i < count; i++) {
    const double wished = p[i] / sum * length;
    const int whole = floor(wished);
    for (int j = 0; j < whole; j++) out[at++] = first + i;
    p[i] = wished - whole;
  }
  for (int j = at; j < length; j++) out[j] = draw_on;
  return at;
}

/* The distribution of the ADU above the offset: `steps` ADU an electron, read noise `sigma` ADU. */
static void make_table(int table, int steps, double sigma) {
  const double mean = mean_of(table);
  const int last_count = ceil(mean + 11 * sqrt(mean) + 16);
  const int reach = ceil(9.3 * sigma);
  const int count = steps * last_count + 2 * reach + 1;
  double *p = calloc(count, sizeof(double));
  for (int k = 0; k <= last_count; k++) {
    const double chance = mean > 0 ? exp(k * log(mean) - mean - lgamma(k + 1)) : k == 0;
    for (int n = -reach; n <= reach; n++)
      p[steps * k + n + reach] += chance * 0.5 *
                                  (n < 0 ? erfc((-n - 0.5) * M_SQRT1_2 / sigma) - erfc((-n + 0.5) * M_SQRT1_2 / sigma)
                                         : erfc((n - 0.5) * M_SQRT1_2 / sigma) - erfc((n + 0.5) * M_SQRT1_2 / sigma));
  }
  struct table *t = store[table] = calloc(1, sizeof(struct table));
  fill_slots(slot_store + table * slots, slots, -reach, p, count);
  t->held = fill_slots(t->second, second_slots, -reach, p, count);
  t->first = -reach;
  t->count = count;
  t->up_to = malloc(count * sizeof(double));
  double sum = 0;
  for (int i = 0; i < count; i++) t->up_to[i] = sum += p[i];
  for (int i = 0; i < count; i++) t->up_to[i] /= sum;
  free(p);
}

static double rest(int table, double u) {
  const struct table *t = store[table];
  const double place = u * second_slots;
  const int value = t->second[(int)place];
  if (value != draw_on) return value;
  const double left = (place - t->held) / (second_slots - t->held);
  int low = 0, high = t->count - 1;
  while (low < high) {
    const int middle = (low + high) >> 1;
    if (t->up_to[middle] < left) low = middle + 1;
    else high = middle;
  }
  return t->first + low;
}

static void make_light(struct light *light, const double *expected, int pixels, int steps, double sigma) {
  light->slot = malloc(pixels * sizeof(int32_t));
  light->excess_up_to = malloc(pixels * sizeof(double));
  light->guide = malloc(pixels * sizeof(int32_t));
  double excess = 0;
  for (int k = 0; k < pixels; k++) {
    int table = floor(root_steps * sqrt(expected[k]));
    if (mean_of(table) > expected[k]) table--;
    if (table >= tables) exit(1);
    if (!store[table]) make_table(table, steps, sigma);
    light->slot[k] = table * slots;
    excess += expected[k] - mean_of(table);
    light->excess_up_to[k] = excess;
  }
  for (int i = 0, k = 0; i < pixels; i++) {
    while (k < pixels - 1 && light->excess_up_to[k] <= (double)i / pixels * excess) k++;
    light->guide[i] = k;
  }
}

/* xoshiro128** (Blackman & Vigna 2021), its state in local variables. */
static void fill_words(uint32_t *out, int count) {
  const uint64_t a = next64(), b = next64();
  uint32_t s0 = a, s1 = a >> 32, s2 = b, s3 = b >> 32;
  for (int i = 0; i < count; i++) {
    const uint32_t five = s1 * 5;
    out[i] = ((five << 7) | (five >> 25)) * 9;
    const uint32_t t = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= t;
    s3 = (s3 << 11) | (s3 >> 21);
  }
}

/* Poisson count of a mean of some tens, by products of uniform numbers. */
static int small_poisson(double mean) {
  const double limit = exp(-mean);
  double product = uniform();
  int count = 0;
  while (product > limit) {
    count++;
    product *= uniform();
  }
  return count;
}

static void expose(double *restrict out, const struct light *light, int pixels, int steps, double gain,
                   uint32_t *restrict words, int32_t *restrict sent_on) {
  const int32_t *restrict slot = light->slot;
  const int16_t *restrict values = slot_store;
  fill_words(words, (pixels + 2) / 3);
  int waiting = 0, k = 0;
  for (int w = 0; k + 2 < pixels; k += 3) {
    const uint32_t word = words[w++];
    const int a = values[slot[k] + (word & (slots - 1))];
    const int b = values[slot[k + 1] + ((word >> slot_bits) & (slots - 1))];
    const int c = values[slot[k + 2] + ((word >> (2 * slot_bits)) & (slots - 1))];
    out[k] = a;
    out[k + 1] = b;
    out[k + 2] = c;
    if (a == draw_on) sent_on[waiting++] = k;
    if (b == draw_on) sent_on[waiting++] = k + 1;
    if (c == draw_on) sent_on[waiting++] = k + 2;
  }
  for (uint32_t word = words[(pixels + 2) / 3 - 1]; k < pixels; k++, word >>= slot_bits) {
    out[k] = values[slot[k] + (word & (slots - 1))];
    if (out[k] == draw_on) sent_on[waiting++] = k;
  }
  for (int i = 0; i < waiting; i++) out[sent_on[i]] = rest(slot[sent_on[i]] >> slot_bits, uniform());
  const double total = light->excess_up_to[pixels - 1];
  const int electrons = small_poisson(total);
  for (int i = 0; i < electrons; i++) {
    const double place = uniform();
    int at = light->guide[(int)(place * pixels)];
    while (light->excess_up_to[at] <= place * total && at < pixels - 1) at++;
    out[at] += steps;
  }
  for (int i = 0; i < pixels; i++) out[i] *= gain;
}

int main(int argc, char **argv) {
  if (argc < 2) return 1;
  const double *data = read_doubles(argv[1]);
  const int width = data[0], height = data[1], phases = data[2];
  const double read_noise = data[3], gain = data[4], threshold = data[7];
  const double center_x = data[8], center_y = data[9], inner2 = data[10];
  const int size = width * height, steps = lround(1 / gain);
  const double *expected = data + 11;
  const double *truth = expected + phases * size;
  int *border = malloc(size * sizeof(int));
  int borders = 0;
  for (int k = 0; k < size; k++) {
    const double dx = k % width - center_x, dy = k / width - center_y;
    if (dx * dx + dy * dy > inner2) border[borders++] = k;
  }
  slot_store = malloc(tables * slots * sizeof(int16_t));
  struct light *lights = malloc(phases * sizeof(struct light));
  for (int i = 0; i < phases; i++) make_light(&lights[i], expected + i * size, size, steps, read_noise / gain);
  double *pixels = malloc(size * sizeof(double));
  uint32_t *words = malloc((size + 2) / 3 * sizeof(uint32_t));
  int32_t *sent_on = malloc(size * sizeof(int32_t));
  long count, frame = 0;
  while (scanf("%ld", &count) == 1) {
    double squares = 0;
    const double begin = now();
    for (long i = 0; i < count; i++, frame++) {
      /* Each frame from numbers of its own. */
      seed64(frame);
      expose(pixels, &lights[frame % phases], size, steps, gain, words, sent_on);
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
