/*
 * Least-squares fits of a pixel-integrated Gaussian by the GNU Scientific Library: Levenberg-Marquardt with the analytic
 * Jacobian. Model and Jacobian are products of a column part and a row part: 2 (width + 1) error functions a call.
 */
#include <gsl/gsl_blas.h>
#include <gsl/gsl_multifit_nlinear.h>

#include "reference.h"

/* Steps end below this, relative to the unknowns; the positions are then right to well below 1e-4 px. */
static const double tolerance = 1e-6;

enum { unknowns = 5, most = 64 };

struct star {
  int width, height;
  const double *frame;
};

static void shares(double *share, int n, double position, double sigma) {
  double last = 0;
  for (int i = -1; i < n; i++) {
    const double next = 0.5 * erf((i + 0.5 - position) * M_SQRT1_2 / sigma);
    if (i >= 0) share[i] = next - last;
    last = next;
  }
}

static void profile(double *share, double *by_position, double *by_sigma, int n, double position, double sigma) {
  double last = 0, last_p = 0, last_up = 0;
  for (int i = -1; i < n; i++) {
    const double u = (i + 0.5 - position) / sigma;
    const double next = 0.5 * erf(u * M_SQRT1_2);
    const double p = exp(-0.5 * u * u) / (sigma * 2.5066282746310002);
    if (i >= 0) {
      share[i] = next - last;
      by_position[i] = last_p - p;
      by_sigma[i] = last_up - u * p;
    }
    last = next;
    last_p = p;
    last_up = u * p;
  }
}

static int residuals(const gsl_vector *v, void *params, gsl_vector *f) {
  const struct star *star = params;
  const double *a = v->data;
  double X[most], Y[most];
  shares(X, star->width, a[0], a[2]);
  shares(Y, star->height, a[1], a[2]);
  for (int y = 0, k = 0; y < star->height; y++) {
    const double factor = a[3] * Y[y];
    for (int x = 0; x < star->width; x++, k++) f->data[k] = factor * X[x] + a[4] - star->frame[k];
  }
  return GSL_SUCCESS;
}

static int jacobian(const gsl_vector *v, void *params, gsl_matrix *J) {
  const struct star *star = params;
  const double *a = v->data;
  double X[most], Xx[most], Xs[most], Y[most], Yy[most], Ys[most];
  profile(X, Xx, Xs, star->width, a[0], a[2]);
  profile(Y, Yy, Ys, star->height, a[1], a[2]);
  for (int y = 0, k = 0; y < star->height; y++)
    for (int x = 0; x < star->width; x++, k++) {
      double *row = J->data + k * J->tda;
      row[0] = a[3] * Y[y] * Xx[x];
      row[1] = a[3] * Yy[y] * X[x];
      row[2] = a[3] * (Y[y] * Xs[x] + Ys[y] * X[x]);
      row[3] = Y[y] * X[x];
      row[4] = 1;
    }
  return GSL_SUCCESS;
}

static int by_value(const void *a, const void *b) {
  const double x = *(const double *)a, y = *(const double *)b;
  return (x > y) - (x < y);
}

/* Center of mass above half of the peak, over the lower quartile of the pixels. */
static void first_guess(double *a, const struct star *star) {
  double sorted[most * most];
  const int size = star->width * star->height;
  for (int k = 0; k < size; k++) sorted[k] = star->frame[k];
  qsort(sorted, size, sizeof(double), by_value);
  const double level = sorted[(size - 1) / 4], peak = sorted[size - 1] - level;
  double sum = 0, sum_x = 0, sum_y = 0;
  int area = 0;
  for (int k = 0; k < size; k++) {
    const double light = star->frame[k] - level;
    if (light <= peak / 2) continue;
    sum += light;
    sum_x += light * (k % star->width);
    sum_y += light * (k / star->width);
    area++;
  }
  a[0] = sum_x / sum;
  a[1] = sum_y / sum;
  a[2] = sqrt(area / (2 * M_PI * M_LN2));
  a[3] = 2 * M_PI * a[2] * a[2] * peak;
  a[4] = level;
}

int main(int argc, char **argv) {
  if (argc < 2) return 1;
  const double *data = read_doubles(argv[1]);
  struct star star = {.width = data[0], .height = data[1]};
  const int stars = data[2], size = star.width * star.height;
  double *positions = calloc(2 * stars, sizeof(double));
  gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
  /* Of GSL's solvers the fastest here; the normal equations are well enough conditioned. */
  parameters.solver = gsl_multifit_nlinear_solver_cholesky;
  gsl_multifit_nlinear_workspace *work =
      gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &parameters, size, unknowns);
  gsl_multifit_nlinear_fdf problem = {
      .f = residuals, .df = jacobian, .fvv = NULL, .n = size, .p = unknowns, .params = &star};
  double guess[unknowns];
  gsl_vector_view start = gsl_vector_view_array(guess, unknowns);
  long count;
  int at = 0;
  while (scanf("%ld", &count) == 1) {
    const double begin = now();
    for (long i = 0; i < count; i++, at = (at + 1) % stars) {
      star.frame = data + 3 + (long)at * size;
      first_guess(guess, &star);
      gsl_multifit_nlinear_init(&start.vector, &problem, work);
      int why;
      gsl_multifit_nlinear_driver(100, tolerance, tolerance, tolerance, NULL, NULL, &why, work);
      positions[2 * at] = work->x->data[0];
      positions[2 * at + 1] = work->x->data[1];
    }
    printf("%.9g", now() - begin);
    for (int k = 0; k < 2 * stars; k++) printf(" %.12g", positions[k]);
    printf("\n");
    fflush(stdout);
  }
  return 0;
}
