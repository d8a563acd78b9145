/* SPDX-License-Identifier: MIT */
/* The placement of a layout on a lattice: every shift and orientation is tried, mirrored ones too, and colour decides. */
#include <math.h>
#include <string.h>

#include "card/find_parts.h"

enum { ORIENTATIONS = 8, NODES_MIN = 5, KEPT = 4, CHART_NODES = 20 };
#define NODES_SHARE 0.6  /* of the lattice's nodes lie under the card  */
#define INSIDE_SHARE 0.5 /* of the patches lie in the frame            */
#define MIDDLE 0.18      /* of the pitch: where a patch is sampled     */
#define CHART_CHROMA                                                                                         \
  0.15                 /* least principal deviation of chroma of an unknown chart, relative to brightness */
#define QUICK_MIN 25.0 /* chi-squared of 9: by chance once in 300    */

/* Column and row on the lattice from the layout's: integers. */
struct placement {
  const struct find_layout *layout;
  int orientation; /* quarter turns; 4 and up: mirrored */
  int column0, row0;
  double evidence;
};

struct colours {
  const struct find_picture *picture;
  const struct find_tone *tone;
  const struct find_lattice *lattice;
  bool known[FIND_SPAN][FIND_SPAN];
  struct find_sample sample[FIND_SPAN][FIND_SPAN];
};

static void placed(const struct placement *placement, int column, int row, int *to_column, int *to_row)
{
  int last_column = placement->layout->columns - 1, last_row = placement->layout->rows - 1;
  int turn = placement->orientation % 4, c = placement->orientation >= 4 ? last_column - column : column;

  *to_column = placement->column0 + (turn == 0   ? c
                                     : turn == 1 ? last_row - row
                                     : turn == 2 ? last_column - c
                                                 : row);
  *to_row = placement->row0 + (turn == 0   ? row
                               : turn == 1 ? c
                               : turn == 2 ? last_row - row
                                           : last_column - c);
}

/* Mean and spread of 3x3 points in the middle of a cell. */
static void sample_take(struct colours *colours, int column, int row, struct find_sample *sample)
{
  const struct find_picture *picture = colours->picture;
  struct vec3 sum = {{0, 0, 0}}, squares = {{0, 0, 0}};

  *sample = (struct find_sample){.inside = true};
  for (int i = 0; i < 9; i++) {
    int dx = i % 3 - 1, dy = i / 3 - 1;
    struct point p = find_map_apply(&colours->lattice->map, column + MIDDLE * dx, row + MIDDLE * dy);
    const uint8_t *byte;
    struct vec3 code;

    if (!(p.x >= 0 && p.y >= 0 && p.x < picture->width && p.y < picture->height)) {
      sample->inside = false;
      return;
    }
    byte = picture->byte + 3 * ((size_t)p.y * (size_t)picture->width + (size_t)p.x);
    for (int k = 0; k < 3; k++)
      code.v[k] = colours->tone->code[byte[k]];
    sum = vec3_add(sum, code);
    squares = vec3_add(squares, vec3_multiply(code, code));
  }
  sample->code = vec3_scale(sum, 1.0 / 9);
  squares = vec3_subtract(vec3_scale(squares, 1.0 / 9), vec3_multiply(sample->code, sample->code));
  sample->spread = sqrt(fmax(squares.v[0] + squares.v[1] + squares.v[2], 0) / 3);
}

static const struct find_sample *sample_at(struct colours *colours, int column, int row)
{
  static const struct find_sample outside = {0};
  int c = column + FIND_REACH, r = row + FIND_REACH;

  if (c < 0 || r < 0 || c >= FIND_SPAN || r >= FIND_SPAN)
    return &outside;
  if (!colours->known[c][r])
    sample_take(colours, column, row, &colours->sample[c][r]);
  colours->known[c][r] = true;
  return &colours->sample[c][r];
}

/* Samples in the layout's order; returns how many are inside the frame. */
static int samples_gather(struct colours *colours, const struct placement *placement,
                          struct find_sample *sample)
{
  const struct find_layout *layout = placement->layout;
  int inside = 0;

  for (int k = 0; k < layout->columns * layout->rows; k++) {
    int column, row;

    placed(placement, k % layout->columns, k / layout->columns, &column, &row);
    sample[k] = *sample_at(colours, column, row);
    inside += sample[k].inside;
  }
  return inside;
}

static int nodes_under(const struct find_lattice *lattice, int left, int top, int width, int height)
{
  int count = 0;

  for (int column = left; column < left + width; column++)
    for (int row = top; row < top + height; row++)
      count += column >= -FIND_REACH && column <= FIND_REACH && row >= -FIND_REACH && row <= FIND_REACH &&
               lattice->blob[column + FIND_REACH][row + FIND_REACH] >= 0;
  return count;
}

/* Keeps the best few, best first. */
static void placement_keep(struct placement kept[KEPT], const struct placement *placement)
{
  int i = KEPT - 1;

  if (placement->evidence <= kept[i].evidence)
    return;
  for (; i > 0 && kept[i - 1].evidence < placement->evidence; i--)
    kept[i] = kept[i - 1];
  kept[i] = *placement;
}

static void placements_try(struct colours *colours, const struct find_layout *layout, int orientation,
                           struct placement kept[KEPT])
{
  const struct find_lattice *lattice = colours->lattice;
  int width = orientation % 2 ? layout->rows : layout->columns,
      height = orientation % 2 ? layout->columns : layout->rows;
  struct find_sample sample[FIND_CELLS];

  for (int left = lattice->left - width + 1; left <= lattice->right; left++)
    for (int top = lattice->top - height + 1; top <= lattice->bottom; top++) {
      struct placement placement = {layout, orientation, left, top, 0};
      int under = nodes_under(lattice, left, top, width, height);

      if (under < NODES_MIN || under < NODES_SHARE * lattice->count ||
          samples_gather(colours, &placement, sample) < INSIDE_SHARE * layout->columns * layout->rows)
        continue;
      placement.evidence = find_score_quick(layout, sample);
      placement_keep(kept, &placement);
    }
}

/* Photo pixels from the layout's column and row. */
static struct mat3 placement_map(const struct colours *colours, const struct placement *placement)
{
  const struct find_picture *picture = colours->picture;
  struct mat3 photo = {{{picture->step, 0, picture->left}, {0, picture->step, picture->top}, {0, 0, 1}}};
  struct mat3 lattice = {{{0, 0, 0}, {0, 0, 0}, {0, 0, 1}}};
  int c0, r0, c1, r1, c2, r2;

  placed(placement, 0, 0, &c0, &r0);
  placed(placement, 1, 0, &c1, &r1);
  placed(placement, 0, 1, &c2, &r2);
  lattice.m[0][0] = c1 - c0;
  lattice.m[0][1] = c2 - c0;
  lattice.m[0][2] = c0;
  lattice.m[1][0] = r1 - r0;
  lattice.m[1][1] = r2 - r0;
  lattice.m[1][2] = r0;
  return mat3_multiply(photo, mat3_multiply(colours->lattice->map, lattice));
}

bool find_match_best(const struct find_picture *picture, const struct find_tone *tone,
                     const struct find_lattice *lattice, const struct find_layout *layout, int layouts,
                     struct find_match *match)
{
  struct colours colours = {.picture = picture, .tone = tone, .lattice = lattice};
  struct placement kept[KEPT] = {{0}};
  struct find_sample sample[FIND_CELLS];

  *match = (struct find_match){0};
  for (int i = 0; i < layouts; i++)
    for (int orientation = 0; orientation < ORIENTATIONS; orientation++)
      placements_try(&colours, &layout[i], orientation, kept);
  for (int i = 0; i < KEPT && kept[i].layout != NULL && kept[i].evidence > QUICK_MIN; i++) {
    struct find_score score;

    samples_gather(&colours, &kept[i], sample);
    score = find_score_full(kept[i].layout, sample);
    if (score.evidence > match->score.evidence) {
      match->score = score;
      match->layout = kept[i].layout;
      match->mirrored = kept[i].orientation >= 4;
      match->map = placement_map(&colours, &kept[i]);
    }
  }
  return match->layout != NULL;
}

/* Chroma relative to brightness, red against green and green against blue. */
static void chroma_add(const struct find_sample *sample, double sum[5])
{
  double level = fmax((sample->code.v[0] + sample->code.v[1] + sample->code.v[2]) / 3, 0.05);
  double a = (sample->code.v[0] - sample->code.v[1]) / level,
         b = (sample->code.v[1] - sample->code.v[2]) / level;

  sum[0] += a;
  sum[1] += b;
  sum[2] += a * a;
  sum[3] += a * b;
  sum[4] += b * b;
}

bool find_match_is_chart(const struct find_picture *picture, const struct find_tone *tone,
                         const struct find_lattice *lattice)
{
  struct colours colours = {.picture = picture, .tone = tone, .lattice = lattice};
  double sum[5] = {0}, n = lattice->count, aa, ab, bb;

  if (lattice->count < CHART_NODES)
    return false;
  for (int column = lattice->left; column <= lattice->right; column++)
    for (int row = lattice->top; row <= lattice->bottom; row++)
      if (lattice->blob[column + FIND_REACH][row + FIND_REACH] >= 0)
        chroma_add(sample_at(&colours, column, row), sum);
  aa = sum[2] / n - sum[0] * sum[0] / n / n;
  ab = sum[3] / n - sum[0] * sum[1] / n / n;
  bb = sum[4] / n - sum[1] * sum[1] / n / n;
  return (aa + bb) / 2 - hypot((aa - bb) / 2, ab) > CHART_CHROMA * CHART_CHROMA;
}
