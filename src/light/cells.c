/* SPDX-License-Identifier: MIT */
#include "light/cells.h"

#include <math.h>
#include <stdlib.h>

/* About how many cells a photo is divided into: enough to follow the rims of deposits, few enough to be quick. */
enum { CELLS_WANTED = 6000 };

static const double CLIPPED_MOST =
    0.2;                             /* share of a cell's pixels: glint of wet faces clips some everywhere */
static const double DARKEST = 0.002; /* linear light below which stray light and noise rule        */
static const double GLINT_HEIGHT =
    0.8; /* of glint over the deposit, of what there is up to the top of the scale */
static const double TEXTURE = 0.08; /* spread of codes of an even deposit, of its code        */
static const double CARD_MARGIN =
    0.75; /* of the card beyond its patches, in patches: border, hands, pins     */

static int merge_of(const struct image_blocks *blocks)
{
  double ratio = (double)blocks->columns * blocks->rows / CELLS_WANTED;
  int merge = (int)lround(sqrt(ratio));

  return merge < 1 ? 1 : merge;
}

/* Bounds of the whole card, mm. */
struct bounds {
  double left, top, right, bottom;
};

static struct bounds card_bounds(const struct card_reference *card)
{
  struct bounds b = {INFINITY, INFINITY, -INFINITY, -INFINITY};

  for (size_t i = 0; i < card->count; i++) {
    const struct card_patch *p = &card->patch[i];
    double across = (0.5 + CARD_MARGIN) * p->width_mm, down = (0.5 + CARD_MARGIN) * p->height_mm;
    b.left = fmin(b.left, p->x_mm - across);
    b.right = fmax(b.right, p->x_mm + across);
    b.top = fmin(b.top, p->y_mm - down);
    b.bottom = fmax(b.bottom, p->y_mm + down);
  }
  return b;
}

static bool on_card(const struct bounds *bounds, const struct card_reference *card,
                    const struct card_pose *pose, struct point place, double reach)
{
  double x, y, margin = reach * pose->mm_per_pixel;

  return card_pose_unproject(pose, card, place, &x, &y) && x > bounds->left - margin &&
         x < bounds->right + margin && y > bounds->top - margin && y < bounds->bottom + margin;
}

/* Pixels that mirror the light are near the top of the scale whatever the light is, and in a mean of codes would pass for
 * light of their own. A share q of them, higher by a, lifts the mean by q a and the variance by q a^2; what the variance is
 * more than texture's tells q. */
static void take_glint_out(double variance, struct vec3 *code)
{
  double above = GLINT_HEIGHT * (1 - code->v[1]), texture = TEXTURE * code->v[1];
  double share = fmax(variance - texture * texture, 0) / fmax(above * above, 1e-4);

  for (int k = 0; k < 3; k++) {
    code->v[k] = fmax(code->v[k] - share * GLINT_HEIGHT * (1 - code->v[k]), 0.5 * code->v[k]);
  }
}

static bool mean_code(const struct image_blocks *blocks, int merge, int column, int row, struct vec3 *code)
{
  double clipped = 0, variance = 0;

  *code = (struct vec3){{0, 0, 0}};
  for (int y = row * merge; y < (row + 1) * merge; y++) {
    for (int x = column * merge; x < (column + 1) * merge; x++) {
      size_t at = (size_t)y * (size_t)blocks->columns + (size_t)x;
      for (int k = 0; k < 3; k++) {
        code->v[k] += (double)blocks->mean[3 * at + (size_t)k];
      }
      clipped += blocks->clipped[at] / 255.0;
      variance += (double)blocks->spread[at] * (double)blocks->spread[at];
    }
  }
  double share = 1.0 / (merge * merge);
  *code = vec3_scale(*code, share);
  take_glint_out(variance * share, code);
  return clipped * share <= CLIPPED_MOST;
}

static bool fill_log(const struct profile *profile, struct vec3 code, struct cell *cell)
{
  struct vec3 linear = profile_linear(profile, code);

  for (int k = 0; k < 3; k++) {
    if (!(linear.v[k] > DARKEST)) {
      return false;
    }
  }
  double green = log(linear.v[1]);
  cell->log = (struct vec3){{green, log(linear.v[0]) - green, log(linear.v[2]) - green}};
  return vec3_is_finite(cell->log);
}

bool cells_make_of(const struct image_blocks *blocks, int merge, const struct profile *profile,
                   const struct card_reference *card, const struct card_pose *pose, struct cells *cells,
                   struct error *error)
{
  int side = merge * blocks->size;
  struct bounds bounds = card_bounds(card);

  *cells = (struct cells){blocks->size, merge, blocks->columns / merge, blocks->rows / merge, 0, NULL};
  cells->count = (size_t)cells->columns * (size_t)cells->rows;
  cells->cell = calloc(cells->count + 1, sizeof *cells->cell);
  if (!cells->cell) {
    return error_no_memory(error, "the light");
  }
  for (size_t i = 0; i < cells->count; i++) {
    struct cell *cell = &cells->cell[i];
    int column = (int)i % cells->columns, row = (int)i / cells->columns;
    struct vec3 code;
    cell->place = (struct point){(column + 0.5) * side, (row + 0.5) * side};
    cell->card = on_card(&bounds, card, pose, cell->place, 0.7 * side);
    cell->open = mean_code(blocks, merge, column, row, &code) && !cell->card && fill_log(profile, code, cell);
  }
  return true;
}

bool cells_make(const struct image_blocks *blocks, const struct profile *profile,
                const struct card_reference *card, const struct card_pose *pose, struct cells *cells,
                struct error *error)
{
  return cells_make_of(blocks, merge_of(blocks), profile, card, pose, cells, error);
}

void cells_clear(struct cells *cells)
{
  free(cells->cell);
  *cells = (struct cells){0};
}

void cells_even(struct cells *cells, const struct light *light)
{
  for (size_t i = 0; i < cells->count; i++) {
    struct cell *cell = &cells->cell[i];
    struct vec3 gain = light_gain(light, cell->place);
    double green = log(gain.v[1]);
    struct vec3 field = {{green, log(gain.v[0]) - green, log(gain.v[2]) - green}};
    cell->even = vec3_subtract(cell->log, field);
  }
}

struct cell *cells_open_at(const struct cells *cells, int column, int row)
{
  if (column < 0 || row < 0 || column >= cells->columns || row >= cells->rows) {
    return NULL;
  }
  struct cell *cell = &cells->cell[(size_t)row * (size_t)cells->columns + (size_t)column];
  return cell->open ? cell : NULL;
}
