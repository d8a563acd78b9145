/* SPDX-License-Identifier: MIT */
/* What to look for: cards whose patches fill a regular lattice and are colourful enough to be told from the rest of the
 * world. Grey scales and soil chips are neither and are not searched for. */
#include <math.h>
#include <string.h>

#include "card/find_parts.h"

#define UNEVEN_MAX 0.05 /* of the pitch: a lattice in even steps */

/* Powers to which linear light is raised: what cameras do to it lies between (0.4: nearly sRGB) and nothing (1). */
static const double tone_power[FIND_TONES] = {0.4, 0.65, 1.0};

/* XYZ under D50 (Y = 1) to linear sRGB, Bradford-adapted: IEC 61966-2-1 primaries. */
static const struct mat3 srgb_from_d50 = {{{3.1338561, -1.6168667, -0.4906146},
                                           {-0.9787684, 1.9161415, 0.0334540},
                                           {0.0719453, -0.2289914, 1.4052427}}};

/* Distinct places along one axis, evenly spaced? */
struct axis {
  double first, pitch;
  int count;
};

static bool axis_find(const struct card_reference *card, bool along_x, struct axis *axis)
{
  double low = INFINITY, high = -INFINITY, pitch = INFINITY;

  for (size_t i = 0; i < card->count; i++) {
    double place = along_x ? card->patch[i].x_mm : card->patch[i].y_mm;

    low = fmin(low, place);
    high = fmax(high, place);
  }
  for (size_t i = 0; i < card->count; i++) {
    double place = along_x ? card->patch[i].x_mm : card->patch[i].y_mm;
    double side = along_x ? card->patch[i].width_mm : card->patch[i].height_mm;

    if (place - low > side / 2)
      pitch = fmin(pitch, place - low);
  }
  if (!isfinite(pitch))
    return false;
  *axis = (struct axis){low, pitch, (int)lround((high - low) / pitch) + 1};
  axis->pitch = (high - low) / (axis->count - 1);
  return true;
}

static struct vec3 linear_colour(struct lab lab)
{

  struct xyz xyz = colour_xyz_from_lab(lab, COLOUR_WHITE_D50);
  struct vec3 linear = mat3_apply(srgb_from_d50, (struct vec3){{xyz.X / 100, xyz.Y / 100, xyz.Z / 100}});

  for (int i = 0; i < 3; i++)
    linear.v[i] = fmax(linear.v[i], 0.003); /* colours beyond sRGB: a camera answers a little anyway */
  return linear;
}

static bool patch_place(const struct card_patch *patch, const struct axis *x, const struct axis *y,
                        struct find_layout *layout, bool *taken)
{
  double column = (patch->x_mm - x->first) / x->pitch, row = (patch->y_mm - y->first) / y->pitch;
  int cell = (int)lround(row) * layout->columns + (int)lround(column);
  struct vec3 linear = linear_colour(patch->lab_d50);

  if (fabs(column - round(column)) > UNEVEN_MAX || fabs(row - round(row)) > UNEVEN_MAX || taken[cell])
    return false;
  taken[cell] = true;
  for (int tone = 0; tone < FIND_TONES; tone++)
    for (int i = 0; i < 3; i++)
      layout->model[tone][cell].v[i] = pow(linear.v[i], tone_power[tone]);
  return true;
}

/* Whether the card's patches fill a lattice, and that. */
static bool lattice_make(const struct card_reference *card, size_t index, struct find_layout *layout)
{
  bool taken[FIND_CELLS] = {false};
  struct axis x, y;

  if (!axis_find(card, true, &x) || !axis_find(card, false, &y))
    return false;
  *layout = (struct find_layout){.card = index, .columns = x.count, .rows = y.count};
  if (x.count > FIND_CELLS || y.count > FIND_CELLS || x.count * y.count > FIND_CELLS ||
      (size_t)x.count * (size_t)y.count != card->count)
    return false;
  for (size_t i = 0; i < card->count; i++)
    if (!patch_place(&card->patch[i], &x, &y, layout, taken))
      return false;
  layout->grid_from_mm =
      (struct mat3){{{1 / x.pitch, 0, -x.first / x.pitch}, {0, 1 / y.pitch, -y.first / y.pitch}, {0, 0, 1}}};
  layout->fill_x = card->patch[0].width_mm / x.pitch;
  layout->fill_y = card->patch[0].height_mm / y.pitch;
  return true;
}

static enum find_unfit layout_make(const struct card_reference *card, size_t index,
                                   struct find_layout *layout)
{
  int chromatic = 0;

  for (size_t i = 0; i < card->count; i++)
    chromatic += !card->patch[i].grey;
  if (chromatic < FIND_CHROMATIC_MIN)
    return FIND_DULL;
  if (card->count > FIND_CELLS)
    return FIND_MANY;
  return lattice_make(card, index, layout) ? FIND_FIT : FIND_NO_LATTICE;
}

int find_layouts_make(const struct card_list *list, struct find_layout layout[FIND_LAYOUTS],
                      enum find_unfit *unfit)
{
  int count = 0;

  *unfit = FIND_FIT;
  for (size_t i = 0; i < list->count && count < FIND_LAYOUTS; i++) {
    bool known = false;

    for (int k = 0; k < count; k++)
      known = known || strcmp(list->card[layout[k].card].layout, list->card[i].layout) == 0;
    if (known)
      continue;
    enum find_unfit found = layout_make(&list->card[i], i, &layout[count]);
    if (found == FIND_FIT)
      count++;
    else
      *unfit = found;
  }
  return count;
}
