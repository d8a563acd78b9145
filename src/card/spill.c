/* SPDX-License-Identifier: MIT */
/* A photo out of focus mixes into each patch what lies around it: of a patch 16 pixels wide, blurred by 3 pixels, the inner 60 %
 * (by side) are a tenth of frame and neighbours. The frame is black, so all patches read dark and all regions light.
 *
 * Patches and frame are even rectangles; blur is a Gaussian of standard deviation s. The mean over a square is then
 *   m_i = sum over patches j of w_ij(s) P_j + (1 - sum of w_ij) F
 * with w the product of two overlaps of a blurred box with an interval, which are in closed form. Given s and F, the P follow from
 * the means of the inner squares; s and F are those that best foretell the means of wider squares, which reach nearly to the
 * borders. Sharpening makes s come out small, and nothing is then taken out. */
#include "card/spill.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { STEPS = 16, HALVINGS = 10, SWEEPS = 4, LEAST_PATCHES = 6 };

static const double WIDE = 0.9;          /* share of a patch's side of the wider square          */
static const double PATCH_LARGEST = 100; /* pixels: of larger ones no likely blur reaches the inner part */
static const double BLUR_LEAST = 0.02, BLUR_MOST = 0.3; /* of a patch's side */
static const double BLUR_REACHES = 0.06;                /* less than that reaches no inner square */
static const double NOT_KNOWN = 0.2; /* of what is taken out: tone curves bend borders, blur is no Gaussian */
static const double STRAY = 0.05; /* of a patch's brightest channel, beyond which a square counts no more */

struct spill {
  const struct card_reference *card;
  size_t count;
  bool *sound;        /* owned, a patch: read, not clipped, and both squares in the frame */
  double *mm;         /* owned, a patch: mm a pixel                                       */
  struct vec3 *mean;  /* owned: of the inner square                                       */
  struct vec3 *wide;  /* owned: of the wider one, of sound patches                        */
  struct vec3 *patch; /* owned: P                                                         */
  double *part;       /* owned, two a patch: sides of both squares, by the pixels in them, of the patch's */
  double *inner, *border; /* owned: w of inner and of wider squares                           */
};

static double normal(double z)
{
  return 0.5 * erfc(-z / M_SQRT2);
}

/* Integral of the normal distribution function up to z. */
static double ramp(double z)
{
  return z * normal(z) + exp(-0.5 * z * z) / sqrt(2 * M_PI);
}

/* Mean over `middle` +- `half` of a box from -size/2 to size/2 about 0, blurred by s. */
static double overlap(double middle, double half, double size, double s)
{
  double sum = 0;

  for (int end = -1; end <= 1; end += 2) {
    double edge = end * size / 2;
    sum -= end * (ramp((middle + half - edge) / s) - ramp((middle - half - edge) / s));
  }
  return s * sum / (2 * half);
}

/* w of patch j in a square of patch i. */
static double weight_of(const struct spill *spill, size_t i, size_t j, double share, double blur)
{
  const struct card_patch *a = &spill->card->patch[i], *b = &spill->card->patch[j];
  double x = a->x_mm - b->x_mm, y = a->y_mm - b->y_mm, s = blur * spill->mm[i];

  if (fabs(x) > (a->width_mm + b->width_mm) / 2 + 5 * s ||
      fabs(y) > (a->height_mm + b->height_mm) / 2 + 5 * s) {
    return 0;
  }
  return overlap(x, share * a->width_mm / 2, b->width_mm, s) *
         overlap(y, share * a->height_mm / 2, b->height_mm, s);
}

static void fill_weights(struct spill *spill, double blur)
{
  for (size_t i = 0; i < spill->count; i++) {
    for (size_t j = 0; j < spill->count; j++) {
      spill->inner[i * spill->count + j] = weight_of(spill, i, j, spill->part[2 * i], blur);
      spill->border[i * spill->count + j] =
          spill->sound[i] ? weight_of(spill, i, j, spill->part[2 * i + 1], blur) : 0;
    }
  }
}

/* Mean of a square by the model. */
static struct vec3 blend(const struct spill *spill, const double *weight, struct vec3 frame)
{
  double rest = 1;
  struct vec3 sum = {{0, 0, 0}};

  for (size_t j = 0; j < spill->count; j++) {
    sum = vec3_add(sum, vec3_scale(spill->patch[j], weight[j]));
    rest -= weight[j];
  }
  return vec3_add(sum, vec3_scale(frame, rest));
}

/* Gauss-Seidel: own weights far exceed the others. */
static void solve_patches(struct spill *spill, struct vec3 frame)
{
  size_t n = spill->count;

  memcpy(spill->patch, spill->mean, n * sizeof *spill->patch);
  for (int sweep = 0; sweep < SWEEPS; sweep++) {
    for (size_t i = 0; i < n; i++) {
      struct vec3 off = vec3_subtract(spill->mean[i], blend(spill, spill->inner + i * n, frame));
      spill->patch[i] = vec3_add(spill->patch[i], vec3_scale(off, 1 / spill->inner[i * n + i]));
    }
  }
}

/* What the wider square of a patch misses by, of its brightest channel. */
static struct vec3 miss_of(const struct spill *spill, size_t i, struct vec3 frame)
{
  struct vec3 m = spill->mean[i], off;
  double bright = fmax(m.v[0], fmax(m.v[1], fmax(m.v[2], 0.01)));

  off = vec3_subtract(spill->wide[i], blend(spill, spill->border + i * spill->count, frame));
  return vec3_scale(off, 1 / bright);
}

/* Misses are linear in the frame's light: the least squares one, from the misses with none and with some. */
static struct vec3 fit_frame(struct spill *spill, struct vec3 *miss)
{
  const double some = 0.1;
  double up[3] = {0}, down[3] = {0};
  struct vec3 frame;

  solve_patches(spill, (struct vec3){{0, 0, 0}});
  for (size_t i = 0; i < spill->count; i++) {
    miss[i] = miss_of(spill, i, (struct vec3){{0, 0, 0}});
  }
  solve_patches(spill, (struct vec3){{some, some, some}});
  for (size_t i = 0; i < spill->count; i++) {
    struct vec3 turn = vec3_subtract(miss_of(spill, i, (struct vec3){{some, some, some}}), miss[i]);
    for (int c = 0; spill->sound[i] && c < 3; c++) {
      up[c] -= turn.v[c] * miss[i].v[c];
      down[c] += turn.v[c] * turn.v[c];
    }
  }
  for (int c = 0; c < 3; c++) {
    frame.v[c] = fmin(fmax(down[c] > 0 ? some * up[c] / down[c] : 0, 0), 1);
  }
  return frame;
}

/* How ill a blur foretells the wider squares; leaves the patches solved by it. */
static double try_blur(struct spill *spill, double blur, struct vec3 *miss)
{
  double sum = 0;

  fill_weights(spill, blur);
  struct vec3 frame = fit_frame(spill, miss);
  solve_patches(spill, frame);
  for (size_t i = 0; i < spill->count; i++) {
    struct vec3 off = miss_of(spill, i, frame);
    sum += spill->sound[i] ? fmin(vec3_dot(off, off), STRAY * STRAY) : 0;
  }
  return sum;
}

/* A grid in the logarithm, then the golden section about its best; pixels, 0 where none is better than the least. */
static double find_blur(struct spill *spill, double patch_pixels, struct vec3 *miss)
{
  const double golden = 0.618033988749895, least = BLUR_LEAST * patch_pixels;
  double step = log(BLUR_MOST / BLUR_LEAST) / (STEPS - 1), best = INFINITY;
  int at = 0;

  for (int k = 0; k < STEPS; k++) {
    double off = try_blur(spill, least * exp(k * step), miss);
    at = off < best ? k : at;
    best = fmin(off, best);
  }
  double low = fmax(at - 1, 0), high = fmin(at + 1, STEPS - 1);
  for (int k = 0; k < HALVINGS && at > 0; k++) {
    double a = high - golden * (high - low), b = low + golden * (high - low);
    bool left = try_blur(spill, least * exp(a * step), miss) < try_blur(spill, least * exp(b * step), miss);
    *(left ? &high : &low) = left ? b : a;
  }
  double blur = least * exp((low + high) / 2 * step);
  try_blur(spill, blur, miss);
  return at > 0 ? blur : 0;
}

static bool in_frame(const struct image *image, const struct point q[4])
{
  bool inside = true;

  for (int k = 0; k < 4; k++) {
    inside = inside && q[k].x >= 0 && q[k].x <= image->width && q[k].y >= 0 && q[k].y <= image->height;
  }
  return inside;
}

static bool gather(struct spill *spill, struct card_pixels *pixels, const struct image *image,
                   const struct card_pose *pose, const struct card_patches *patches)
{
  for (size_t i = 0; i < spill->count; i++) {
    const struct card_patch *patch = &spill->card->patch[i];
    struct point q[4];
    card_pose_outline(pose, spill->card, i, WIDE, q);
    double area = fabs((q[2].x - q[0].x) * (q[3].y - q[1].y) - (q[3].x - q[1].x) * (q[2].y - q[0].y)) / 2;
    area /= WIDE * WIDE;
    spill->mm[i] = sqrt(patch->width_mm * patch->height_mm / fmax(area, 1));
    spill->part[2 * i] = fmax(sqrt((double)patches->view[i].pixels / fmax(area, 1)), 0.1);
    spill->mean[i] = patches->view[i].linear;
    spill->sound[i] = patches->view[i].cause == CARD_USED && in_frame(image, q);
    if (!spill->sound[i]) {
      continue;
    }
    if (!card_pixels_gather(pixels, image, q)) {
      return false;
    }
    spill->part[2 * i + 1] = sqrt((double)pixels->count / fmax(area, 1));
    for (size_t k = 0; k < pixels->count; k++) {
      for (int c = 0; c < 3; c++) {
        spill->wide[i].v[c] += (double)pixels->linear[c][k] / (double)pixels->count;
      }
    }
  }
  return true;
}

static void hand_over(const struct spill *spill, struct card_patches *patches)
{
  for (size_t i = 0; i < spill->count; i++) {
    struct card_patch_view *view = &patches->view[i];
    struct vec3 taken = vec3_subtract(spill->patch[i], view->linear);
    if (view->cause != CARD_OUTSIDE && vec3_is_finite(taken)) {
      view->linear = spill->patch[i];
      view->covariance =
          mat3_add(view->covariance, mat3_scale(mat3_outer(taken, taken), NOT_KNOWN * NOT_KNOWN));
    }
  }
}

static void clear(struct spill *spill)
{
  free(spill->sound);
  free(spill->mm);
  free(spill->mean);
  free(spill->wide);
  free(spill->patch);
  free(spill->part);
  free(spill->inner);
  free(spill->border);
}

bool card_spill_take_out(struct card_pixels *pixels, const struct image *image,
                         const struct card_reference *card, const struct card_pose *pose,
                         struct card_patches *patches)
{
  size_t n = card->count, sound = 0;

  if (pose->patch_pixels > PATCH_LARGEST) {
    return true;
  }
  struct spill spill = {.card = card,
                        .count = n,
                        .sound = calloc(n, sizeof *spill.sound),
                        .mm = calloc(n, sizeof *spill.mm),
                        .mean = calloc(n, sizeof *spill.mean),
                        .wide = calloc(n, sizeof *spill.wide),
                        .patch = calloc(n, sizeof *spill.patch),
                        .part = calloc(2 * n, sizeof *spill.part),
                        .inner = calloc(n * n, sizeof *spill.inner),
                        .border = calloc(n * n, sizeof *spill.border)};
  struct vec3 *miss = calloc(n, sizeof *miss);
  bool done = spill.sound && spill.mm && spill.mean && spill.wide && spill.patch && spill.part &&
              spill.inner && spill.border && miss && gather(&spill, pixels, image, pose, patches);
  for (size_t i = 0; done && i < n; i++) {
    sound += spill.sound[i];
  }
  if (done && sound >= LEAST_PATCHES) {
    patches->blur = find_blur(&spill, pose->patch_pixels, miss);
    if (patches->blur > BLUR_REACHES * pose->patch_pixels) {
      hand_over(&spill, patches);
    }
  }
  free(miss);
  clear(&spill);
  return done;
}
