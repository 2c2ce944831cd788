/* What the C references share: the loop over lines of counts, a clock, doubles from a file, random numbers. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

static double now(void) {
  struct timespec t;
  clock_gettime(CLOCK_MONOTONIC, &t);
  return t.tv_sec + 1e-9 * t.tv_nsec;
}

static double *read_doubles(const char *path) {
  FILE *file = fopen(path, "rb");
  if (!file) exit(1);
  fseek(file, 0, SEEK_END);
  long bytes = ftell(file);
  rewind(file);
  double *data = malloc(bytes);
  if (fread(data, 1, bytes, file) != (size_t)bytes) exit(1);
  fclose(file);
  return data;
}

/* xoshiro256++ (Blackman & Vigna 2021, ACM Trans. Math. Softw. 47, 36), seeded by SplitMix64. */
static uint64_t s[4];

static inline uint64_t rotl(uint64_t x, int k) { return (x << k) | (x >> (64 - k)); }

static inline uint64_t next64(void) {
  const uint64_t result = rotl(s[0] + s[3], 23) + s[0];
  const uint64_t t = s[1] << 17;
  s[2] ^= s[0];
  s[3] ^= s[1];
  s[1] ^= s[2];
  s[0] ^= s[3];
  s[2] ^= t;
  s[3] = rotl(s[3], 45);
  return result;
}

static void seed64(uint64_t x) {
  for (int i = 0; i < 4; i++) {
    uint64_t z = (x += 0x9e3779b97f4a7c15ULL);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    s[i] = z ^ (z >> 31);
  }
}

/* Uniform in (0, 1). */
static inline double uniform(void) { return ((next64() >> 11) + 0.5) * 0x1p-53; }
