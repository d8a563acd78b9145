/* SPDX-License-Identifier: MIT */
/* The robust fit of the camera. docs/method.md derives it; in short: residuals of the patches in CIEDE2000 units, whitened by
 * card tolerance, noise and pigment; Student-t weights and a scatter found with them (iteratively reweighted
 * least squares); gentle priors; then a bend of Lab if the patches predict each other better with it. */
#include "profile/fit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/order.h"
#include "colour/difference.h"

static const double BEND = 9; /* standard deviation of the coefficients of the bend, CIEDE2000            */

/* Clipping at the dark end goes unnoticed where blacks are lifted: nominal light below about this is known no better. */
static const double CLIPPING = 0.005;

static const double FREEDOM = 4; /* of the Student-t                                                        */
static const double SCATTER_LEAST =
    1;                         /* a card is not taken to be better than its tolerance                     */
static const double FAR2 = 30; /* chi-squared of 3: beyond it a patch is named and left out               */
/* Log predictive density that more freedom must gain. Where the light over the card is free, a deviant patch or two may ask for
 * light that is not there. */
static const double GAIN_BEND = 2, GAIN_UNEVEN = 6;
/* A card in use may be this much further off than its tolerance. */
static const double WORN = 1.5;
enum { ROUNDS = 8, FREE_PATCHES = 15 };

/* d(Lab) / d(nominal linear) of a patch by central differences. */
static struct mat3 slope_of(const struct fit *fit, const struct fit_patch *patch)
{
  struct mat3 slope;

  for (int k = 0; k < 3; k++) {
    struct fit_patch moved = *patch;
    double h = 1e-5;
    moved.linear.v[k] += h;
    struct vec3 more = colour_vec_from_lab(fit_predict(fit, fit->x, &moved));
    moved.linear.v[k] -= 2 * h;
    struct vec3 less = colour_vec_from_lab(fit_predict(fit, fit->x, &moved));
    for (int row = 0; row < 3; row++) {
      slope.m[row][k] = (more.v[row] - less.v[row]) / (2 * h);
    }
  }
  return slope;
}

/* What clipping at the dark end, which lifted blacks hide, may have done to a channel. */
static struct mat3 clipping_noise(struct vec3 linear)
{
  struct vec3 variance;

  for (int k = 0; k < 3; k++) {
    double off = CLIPPING * exp(-fmax(linear.v[k], 0) / CLIPPING);
    variance.v[k] = off * off;
  }
  return mat3_diagonal(variance);
}

/* Whitening by tolerance, noise as the present model carries it to Lab, and the pigment's rest. */
static void weigh_patch(const struct fit *fit, struct fit_patch *patch)
{
  struct mat3 print = mat3_congruence(mat3_scale(patch->from_units, patch->tolerance), mat3_identity());
  struct mat3 noise = mat3_add(patch->noise, clipping_noise(patch->linear));
  struct mat3 all = mat3_add(mat3_add(print, mat3_congruence(slope_of(fit, patch), noise)),
                             patch->pigment.rest),
              inverse;

  if (mat3_invert(all, &inverse)) {
    patch->whiten = mat3_transpose(mat3_cholesky(inverse));
  }
}

/* Student-t weights, and the scatter that makes the weighted residuals what their degrees of freedom expect (Lange, Little & Taylor
 * 1989, Robust statistical modeling using the t distribution). Returns the largest change of a weight. */
static double reweigh(struct fit *fit, const struct fit_verdict *verdict)
{
  double sum = 0, freedom = 0, change = 0;

  for (size_t i = 0; i < fit->count; i++) {
    double far2 = vec3_dot(verdict[i].residual, verdict[i].residual);
    double weight = (FREEDOM + 3) / (FREEDOM + far2);
    change = fmax(change, fabs(weight - fit->patch[i].weight));
    sum += weight * far2;
    freedom += 3 - verdict[i].leverage;
    fit->patch[i].weight = weight;
  }
  double ratio = sqrt(sum / fmax(freedom, 3));
  fit->scatter = fmax(SCATTER_LEAST, fit->scatter * ratio);
  return fmax(change, fabs(ratio - 1) * (fit->scatter > SCATTER_LEAST));
}

/* Fits, weighs and fits again until the weights stand. */
static bool settle(struct fit *fit, struct fit_verdict *verdict, struct error *error)
{
  double change = 1;

  for (int round = 0; round < ROUNDS && change > 0.02; round++) {
    for (size_t i = 0; i < fit->count; i++) {
      weigh_patch(fit, &fit->patch[i]);
    }
    if (!fit_solve(fit, round == 0 ? 30 : 6, error) || !fit_judge(fit, verdict, error)) {
      return false;
    }
    change = reweigh(fit, verdict);
  }
  return fit_solve(fit, 10, error) && fit_judge(fit, verdict, error);
}

/* Light in a patch that mirrors a lamp or the sky is brighter and paler; in a shadow it is darker and about as strongly
 * coloured. */
static enum card_cause cause_of(const struct fit *fit, const struct fit_patch *patch)
{
  struct lab seen = fit_predict(fit, fit->x, patch), due = colour_lab_from_vec(patch->reference);
  struct colour_difference off = colour_difference_2000(due, seen);

  if (off.lightness > 0 && fabs(off.lightness) > fabs(off.hue) && off.chroma <= 0) {
    return CARD_GLARE;
  }
  if (off.lightness < 0 && fabs(off.lightness) > hypot(off.hue, off.chroma)) {
    return CARD_SHADED;
  }
  return CARD_DEVIANT;
}

/* Takes the most deviant patch out, if there is one; at most a third of the patches go. */
static bool drop_deviant(struct fit *fit, const struct fit_verdict *verdict, size_t least,
                         struct profile_sample *samples)
{
  size_t worst = 0;

  for (size_t i = 1; i < fit->count; i++) {
    worst = verdict[i].distance2 > verdict[worst].distance2 ? i : worst;
  }
  if (fit->count <= least || verdict[worst].distance2 < FAR2) {
    return false;
  }
  samples[fit->patch[worst].sample].cause = cause_of(fit, &fit->patch[worst]);
  memmove(fit->patch + worst, fit->patch + worst + 1, (fit->count - worst - 1) * sizeof *fit->patch);
  fit->count--;
  return true;
}

static bool settle_without_deviants(struct fit *fit, struct fit_verdict *verdict,
                                    struct profile_sample *samples, struct error *error)
{
  size_t least = fit->count - fit->count / 3;

  do {
    if (!settle(fit, verdict, error)) {
      return false;
    }
  } while (drop_deviant(fit, verdict, least, samples));
  return true;
}

/* Lets the light over the card be otherwise than estimated. */
static void allow_uneven(struct fit *fit)
{
  fit->uneven = true;
}

static void allow_bend(struct fit *fit)
{
  fit->bend_size = BEND;
  fit->unknowns = FIT_UNKNOWNS;
  memset(fit->x + FIT_BEND, 0, 3 * PROFILE_BENDS * sizeof *fit->x);
}

/* Fits with more allowed; goes back unless the patches predict each other better so. */
static bool try_more(struct fit *fit, void (*allow)(struct fit *fit), double gain,
                     struct fit_verdict *verdict, struct error *error)
{
  double plain_evidence = fit_evidence(fit, verdict);
  struct fit plain = *fit;
  struct fit_patch *patches = malloc(fit->count * sizeof *patches);
  bool done = patches != NULL;

  if (!done) {
    return error_no_memory(error, "a freer fit");
  }
  memcpy(patches, fit->patch, fit->count * sizeof *patches);
  allow(fit);
  done = settle(fit, verdict, error);
  if (done && fit_evidence(fit, verdict) < plain_evidence + gain) {
    memcpy(fit->patch, patches, fit->count * sizeof *patches);
    plain.patch = fit->patch;
    plain.covariance = fit->covariance;
    *fit = plain;
    done = settle(fit, verdict, error);
  }
  free(patches);
  return done;
}

/* The nominal curve and primaries, each channel scaled by the median of what the patches ask for. */
static bool start(struct fit *fit, struct error *error)
{
  double *ratio = calloc(fit->count, sizeof *ratio);
  struct vec3 scale;

  if (!ratio) {
    return error_no_memory(error, "a fit");
  }
  for (int k = 0; k < 3; k++) {
    for (size_t i = 0; i < fit->count; i++) {
      struct xyz c = colour_xyz_from_lab(colour_lab_from_vec(fit->patch[i].reference), COLOUR_WHITE_D50);
      double due = mat3_apply(fit->nominal_inverse, colour_vec_from_xyz(c)).v[k];
      ratio[i] = fmax(due, 1e-3) * fit->patch[i].gain.v[k] / fmax(fit->patch[i].linear.v[k], 1e-3);
    }
    scale.v[k] = order_upper_median(ratio, fit->count);
  }
  struct mat3 matrix = mat3_multiply(fit->nominal, mat3_diagonal(scale));
  memset(fit->x, 0, sizeof fit->x);
  memcpy(fit->x + FIT_MATRIX, &matrix.m[0][0], 9 * sizeof *fit->x);
  free(ratio);
  return true;
}

/* The middle of all patches, used or not, and half the extent of the card. */
static void frame_of(const struct profile_sample *samples, size_t count, struct point *middle, double *half)
{
  *middle = (struct point){0, 0};
  *half = 0;
  for (size_t i = 0; i < count; i++) {
    middle->x += samples[i].place.x / (double)count;
    middle->y += samples[i].place.y / (double)count;
  }
  for (size_t i = 0; i < count; i++) {
    *half = fmax(*half, hypot(samples[i].place.x - middle->x, samples[i].place.y - middle->y));
  }
  *half = *half > 0 ? *half : 1;
}

static struct fit_patch patch_of(const struct profile_sample *sample, size_t index, struct point middle,
                                 double half)
{
  struct fit_patch patch = {.sample = index,
                            .linear = sample->linear,
                            .gain = sample->gain,
                            .noise = sample->noise,
                            .x = (sample->place.x - middle.x) / half,
                            .y = (sample->place.y - middle.y) / half,
                            .reference = colour_vec_from_lab(sample->reference_d50),
                            .pigment = pigment_of(sample->reference_d50),
                            .tolerance = fmax(sample->tolerance, 0.05) / sqrt(3),
                            .weight = 1};
  struct mat3 inverse;

  patch.from_units = mat3_identity();
  if (mat3_invert(colour_de00_metric(sample->reference_d50), &inverse)) {
    patch.from_units = mat3_cholesky(inverse);
  }
  return patch;
}

/* Whether what is left fixes at least exposure and white balance. */
static bool enough(const struct profile_sample *samples, size_t count)
{
  size_t used = 0, light_greys = 0;

  for (size_t i = 0; i < count; i++) {
    used += samples[i].cause == CARD_USED;
    light_greys += samples[i].cause == CARD_USED && samples[i].grey && samples[i].reference_d50.L > 30;
  }
  return used >= 4 || light_greys >= 1;
}

/* Second order of place less its mean: light that bulges over the card leaves the card's mean where it was. */
static void centre_second(struct fit *fit)
{
  struct vec3 mean = {{0}};

  for (size_t i = 0; i < fit->count; i++) {
    struct fit_patch *patch = &fit->patch[i];
    patch->second = (struct vec3){{patch->x * patch->x, patch->x * patch->y, patch->y * patch->y}};
    mean = vec3_add(mean, vec3_scale(patch->second, 1 / (double)fit->count));
  }
  for (size_t i = 0; i < fit->count; i++) {
    fit->patch[i].second = vec3_subtract(fit->patch[i].second, mean);
  }
}

static bool prepare(struct fit *fit, const struct encoding *encoding, double slope,
                    const struct profile_sample *samples, size_t count, struct error *error)
{
  struct point middle;
  double half;

  *fit =
      (struct fit){.nominal = encoding->xyz_from_linear, .slope = slope, .scatter = 1, .unknowns = FIT_BEND};
  if (!enough(samples, count) || count > PROFILE_SAMPLES_MAX ||
      !mat3_invert(fit->nominal, &fit->nominal_inverse)) {
    return error_set(
        error, ERROR_UNMEASURABLE, "few-patches",
        "too few of the card's patches can be used to fix even a white balance; show the whole card "
        "unclipped, without glare and in one light");
  }
  fit->patch = calloc(count, sizeof *fit->patch);
  fit->covariance = calloc((size_t)FIT_UNKNOWNS * FIT_UNKNOWNS, sizeof *fit->covariance);
  if (!fit->patch || !fit->covariance) {
    return error_no_memory(error, "a camera model");
  }
  frame_of(samples, count, &middle, &half);
  for (size_t i = 0; i < count; i++) {
    if (samples[i].cause == CARD_USED) {
      fit->patch[fit->count++] = patch_of(&samples[i], i, middle, half);
    }
  }
  centre_second(fit);
  return start(fit, error);
}

/* Index of a profile parameter among the unknowns; -1 where it is not in the fit. */
static int unknown_of(const struct fit *fit, int parameter)
{
  if (parameter < PROFILE_BEND_AT) {
    return parameter;
  }
  return fit->bend_size > 0 ? FIT_BEND + parameter - PROFILE_BEND_AT : -1;
}

static void take_parameters(const struct fit *fit, struct profile *profile)
{
  memcpy(profile->knot, fit->x + FIT_KNOT, sizeof profile->knot);
  memcpy(profile->matrix, fit->x + FIT_MATRIX, sizeof profile->matrix);
  profile->bent = fit->bend_size > 0;
  if (profile->bent) {
    memcpy(profile->bend, fit->x + FIT_BEND, sizeof profile->bend);
  }
  for (int i = 0; i < PROFILE_PARAMETERS; i++) {
    for (int j = 0; j < PROFILE_PARAMETERS; j++) {
      int p = unknown_of(fit, i), q = unknown_of(fit, j);
      if (p >= 0 && q >= 0) {
        profile->covariance[i][j] = fit->covariance[(size_t)p * fit->unknowns + (size_t)q];
      }
    }
  }
}

/* The colour that is off the reference by a whitened residual. */
static double distance_of(const struct fit *fit, const struct fit_patch *patch, struct vec3 whitened)
{
  struct mat3 back;

  if (!mat3_invert(patch->whiten, &back)) {
    return 0;
  }
  struct vec3 off = mat3_apply(back, vec3_scale(whitened, fit->scatter));
  return colour_de00(colour_lab_from_vec(patch->reference),
                     colour_lab_from_vec(vec3_add(patch->reference, off)));
}

/* What the others say that a patch may be off by. */
static double radius_of(const struct fit *fit, const struct fit_patch *patch, struct mat3 whitened)
{
  struct mat3 back;

  if (!mat3_invert(patch->whiten, &back)) {
    return 0;
  }
  return colour_de00_radius95(colour_lab_from_vec(patch->reference),
                              mat3_congruence(mat3_scale(back, fit->scatter), whitened));
}

/* Scatter beyond that of a worn card is the camera's, and soils have their share of it. */
static double misfit_of(const struct fit *fit)
{
  double beyond = fit->scatter * fit->scatter - WORN * WORN, tolerance2 = 0;

  for (size_t i = 0; i < fit->count; i++) {
    tolerance2 += fit->patch[i].tolerance * fit->patch[i].tolerance / (double)fit->count;
  }
  return sqrt(fmax(beyond, 0) * tolerance2);
}

static void take_residuals(const struct fit *fit, const struct fit_verdict *verdict,
                           struct profile_sample *samples, struct profile *profile)
{
  double fitted[PROFILE_SAMPLES_MAX], left_out[PROFILE_SAMPLES_MAX];

  for (size_t i = 0; i < fit->count; i++) {
    fitted[i] = distance_of(fit, &fit->patch[i], verdict[i].residual);
    left_out[i] = distance_of(fit, &fit->patch[i], verdict[i].left_out);
    samples[fit->patch[i].sample].left_one_out = left_out[i];
    samples[fit->patch[i].sample].radius = radius_of(fit, &fit->patch[i], verdict[i].spread);
  }
  profile->used = fit->count;
  profile->residual = fit_summary(fitted, fit->count);
  profile->left_one_out = fit_summary(left_out, fit->count);
  profile->misfit = misfit_of(fit);
  profile->evidence = fit_evidence(fit, verdict);
}

bool profile_fit(const struct encoding *encoding, double slope, struct profile_sample *samples, size_t count,
                 struct profile *profile, struct error *error)
{
  struct fit fit;
  struct fit_verdict *verdict = calloc(count ? count : 1, sizeof *verdict);
  bool done = false;

  memset(profile, 0, sizeof *profile);
  if (!verdict) {
    return error_no_memory(error, "a camera model");
  }
  if (!prepare(&fit, encoding, slope, samples, count, error) ||
      !settle_without_deviants(&fit, verdict, samples, error) ||
      (fit.count >= FREE_PATCHES && (!try_more(&fit, allow_uneven, GAIN_UNEVEN, verdict, error) ||
                                     !try_more(&fit, allow_bend, GAIN_BEND, verdict, error)))) {
    goto end;
  }
  profile->encoding = *encoding;
  if (!fit_narrow(&fit, fit_print(&fit, verdict), error)) {
    goto end;
  }
  take_parameters(&fit, profile);
  take_residuals(&fit, verdict, samples, profile);
  done = true;
end:
  free(fit.patch);
  free(fit.covariance);
  free(verdict);
  return done;
}
