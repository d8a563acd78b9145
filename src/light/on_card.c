/* SPDX-License-Identifier: MIT */
#include "light/on_card.h"

#include <math.h>

#include "base/order.h"
#include "light/cells.h"
#include "light/shadow.h"

enum { ANGLES = 24, OFFSETS = 21, WIDTHS = 4, ROUNDS = 6, SIDE_LEAST = 3 };

static const double PI = 3.14159265358979323846;
static const double WIDTH_TRIED[WIDTHS] = {0.08, 0.2, 0.4, 0.7}; /* half shadow, of the card's reach */
static const double FREEDOM = 4;                                 /* of the Student-t                 */
static const double DUE_LEAST = 0.006; /* linear light due, below which a patch tells no light       */
/* What a patch is off by in log light: print and camera model, more where it is dark. */
static const double OFF_GREEN = 0.05, OFF_TINT = 0.035, DARK = 0.06;

static bool sample_of(const struct profile *profile, struct mat3 inverse, struct lab lab,
                      const struct card_patch_view *view, struct card_sample *sample)
{
  struct xyz xyz = colour_xyz_from_lab(lab, COLOUR_WHITE_D50);
  struct vec3 due = mat3_apply(inverse, colour_vec_from_xyz(xyz)), off;
  double least = fmin(due.v[0], fmin(due.v[1], due.v[2]));

  for (int k = 0; k < 3; k++) {
    off.v[k] = log(profile_tone(profile, view->linear.v[k]) / due.v[k]);
  }
  sample->place = view->centre;
  sample->log = (struct vec3){{off.v[1], off.v[0] - off.v[1], off.v[2] - off.v[1]}};
  double dark = DARK * 0.1 / (least + 0.05);
  sample->spread = (struct vec3){{OFF_GREEN + dark, OFF_TINT + dark, OFF_TINT + dark}};
  return least > DUE_LEAST && vec3_is_finite(sample->log);
}

void card_light_gather(const struct profile *profile, const struct card_reference *card,
                       const struct card_patches *patches, struct card_light *samples)
{
  struct mat3 matrix, inverse;

  samples->count = 0;
  samples->reach = 1;
  samples->middle = (struct point){0, 0};
  for (int i = 0; i < 9; i++) {
    matrix.m[i / 3][i % 3] = profile->matrix[i / 3][i % 3];
  }
  if (!mat3_invert(matrix, &inverse)) {
    return;
  }
  for (size_t i = 0; i < patches->count && i < card->count; i++) {
    const struct card_patch_view *view = &patches->view[i];
    if ((view->cause == CARD_USED || view->cause == CARD_UNEVEN) &&
        sample_of(profile, inverse, card->patch[i].lab_d50, view, &samples->sample[samples->count])) {
      samples->middle.x += view->centre.x;
      samples->middle.y += view->centre.y;
      samples->count++;
    }
  }
  samples->middle.x /= fmax((double)samples->count, 1);
  samples->middle.y /= fmax((double)samples->count, 1);
  for (size_t i = 0; i < samples->count; i++) {
    struct point p = samples->sample[i].place;
    samples->reach = fmax(samples->reach, hypot(p.x - samples->middle.x, p.y - samples->middle.y));
  }
}

/* A channel of the samples as level + step x share; with `stepped` false a level alone. Returns the log likelihood. */
static double fit_channel(const struct card_light *samples, const double *share, int k, bool stepped,
                          double *step)
{
  double level = 0, sum = 0, off[CARD_PATCHES_MAX];

  *step = 0;
  for (size_t i = 0; i < samples->count; i++) {
    off[i] = samples->sample[i].log.v[k];
  }
  level = order_median(off, samples->count);
  for (int round = 0; round < ROUNDS; round++) {
    double n = 0, s = 0, ss = 0, v = 0, sv = 0;
    for (size_t i = 0; i < samples->count; i++) {
      double value = samples->sample[i].log.v[k], sd = samples->sample[i].spread.v[k];
      double r = (value - level - *step * share[i]) / sd;
      /* the first round's residuals say little: both sides count alike */
      double w = (round ? (FREEDOM + 1) / (FREEDOM + r * r) : 1) / (sd * sd);
      n += w, s += w * share[i], ss += w * share[i] * share[i];
      v += w * value, sv += w * share[i] * value;
    }
    double determinant = n * ss - s * s;
    *step = stepped && determinant > 1e-9 * n * n ? (n * sv - s * v) / determinant : 0;
    level = (v - *step * s) / n;
  }
  for (size_t i = 0; i < samples->count; i++) {
    double r = (samples->sample[i].log.v[k] - level - *step * share[i]) / samples->sample[i].spread.v[k];
    sum -= (FREEDOM + 1) / 2 * log1p(r * r / FREEDOM);
  }
  return sum;
}

/* Shares of the step at the samples; false with too few on either side. */
static bool shares_of(const struct card_light *samples, const struct light_edge *edge, double *share)
{
  const struct light only = {.shadow_edge = true, .edge = *edge};
  int near = 0, far = 0;

  for (size_t i = 0; i < samples->count; i++) {
    share[i] = light_share_of_step(&only, samples->sample[i].place);
    near += share[i] < 0.5;
    far += share[i] >= 0.5;
  }
  return near >= SIDE_LEAST && far >= SIDE_LEAST;
}

void card_light_even(const struct light *light, struct card_light *samples)
{
  for (size_t i = 0; i < samples->count; i++) {
    struct vec3 gain = light_gain(light, samples->sample[i].place);
    struct vec3 field = {{log(gain.v[1]), log(gain.v[0] / gain.v[1]), log(gain.v[2] / gain.v[1])}};
    samples->sample[i].log = vec3_subtract(samples->sample[i].log, field);
  }
}

bool card_light_try(const struct card_light *samples, struct card_step *step)
{
  double share[CARD_PATCHES_MAX], ignored;

  step->evidence = 0;
  if (!shares_of(samples, &step->edge, share)) {
    return false;
  }
  for (int k = 0; k < 3; k++) {
    double even = fit_channel(samples, share, k, false, &ignored);
    step->evidence += fit_channel(samples, share, k, true, &step->step.v[k]) - even;
    if (step->evidence <= 0 || (k == 2 && !shadow_may_be(step->step))) {
      step->evidence = 0;
      break;
    }
  }
  return true;
}

struct card_step card_light_search(const struct card_light *samples)
{
  struct card_step best = {.evidence = 0};

  for (int n = 0; n < ANGLES * OFFSETS * WIDTHS; n++) {
    double angle = PI * (n % ANGLES) / ANGLES, c = cos(angle), s = sin(angle);
    double offset = samples->reach * (2.0 * (n / ANGLES % OFFSETS) / (OFFSETS - 1) - 1);
    struct card_step step = {
        .edge = {.place = {samples->middle.x + offset * c, samples->middle.y + offset * s},
                 .normal = {c, s},
                 .half = samples->reach * WIDTH_TRIED[n / ANGLES / OFFSETS]}};
    card_light_try(samples, &step);
    if (step.evidence > best.evidence) {
      best = step;
    }
  }
  return best;
}
