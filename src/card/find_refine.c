/* SPDX-License-Identifier: MIT */
/* The plane map from patch edges in the photo itself.
 *
 * Along each axis of each patch a profile of codes, averaged over the middle of the patch, leaves the patch's own colour on both
 * sides; where it is half-way to what lies outside is an edge, blurred or not. The middle between both edges is the
 * patch's centre along that axis, whatever its size and gap. Centres whose width is unlike the others' are left out. */
#include <math.h>
#include <stdlib.h>

#include "card/find_parts.h"

enum { ROUNDS = 3, STEPS_MAX = 129, LINES = 7, TIES_MIN = 8, GRID_MAX = 9 };
#define SPAN 0.62        /* of the pitch: a profile's reach to both sides           */
#define PLATEAU 0.20     /* the patch's own colour                                  */
#define OUTSIDE_FROM 0.3 /* what lies outside is looked for from here               */
#define OUTSIDE_TO 0.52  /* to here: the middle of the gap                          */
#define LINES_REACH 0.25 /* half width of the averaged band                         */
#define CONTRAST 0.02    /* least step at an edge, codes                            */
#define CONTRAST_NOISE 4 /* and in standard deviations of the plateau               */
#define WIDTH_OFF 0.12   /* of the median width: such a patch is left out           */
#define SHIFT_OFF 0.08   /* of the pitch: a patch beyond the card that is not on its lattice */
#define STRAY 3.0        /* robust standard deviations of residuals                 */
#define SAMPLE_REACH 0.25

static struct vec3 code_at(const struct image *image, int x, int y)
{
  struct vec3 code;
  double scale = 1.0 / image_code_max(image);

  for (int i = 0; i < 3; i++)
    code.v[i] = scale * image_code(image, x, y, i);
  return code;
}

/* Bilinear; the frame's rim is held. */
static struct vec3 code_between(const struct image *image, struct point p)
{
  double x = fmin(fmax(p.x - 0.5, 0), image->width - 1.001),
         y = fmin(fmax(p.y - 0.5, 0), image->height - 1.001);
  int column = (int)x, row = (int)y;
  double fx = x - column, fy = y - row;
  struct vec3 top = vec3_add(vec3_scale(code_at(image, column, row), 1 - fx),
                             vec3_scale(code_at(image, column + 1, row), fx));
  struct vec3 bottom = vec3_add(vec3_scale(code_at(image, column, row + 1), 1 - fx),
                                vec3_scale(code_at(image, column + 1, row + 1), fx));

  return vec3_add(vec3_scale(top, 1 - fy), vec3_scale(bottom, fy));
}

static bool in_frame(const struct image *image, struct point p)
{
  return p.x >= 0 && p.y >= 0 && p.x <= image->width && p.y <= image->height;
}

static double pitch_at(const struct mat3 *map, double column, double row, bool along_row)
{
  struct point a = find_map_apply(map, column - (along_row ? 0 : 0.5), row - (along_row ? 0.5 : 0));
  struct point b = find_map_apply(map, column + (along_row ? 0 : 0.5), row + (along_row ? 0.5 : 0));

  return hypot(b.x - a.x, b.y - a.y);
}

struct profile_line {
  int count; /* odd: the middle one is the patch's centre */
  double step;
  struct vec3 code[STEPS_MAX];
};

/* False when a part lies outside the frame. */
static bool line_read(const struct image *image, const struct mat3 *map, int column, int row, bool along_row,
                      struct profile_line *line)
{
  int half = (int)fmin(fmax(SPAN * 2 * pitch_at(map, column, row, along_row), 12), STEPS_MAX / 2);

  line->count = 2 * half + 1;
  line->step = SPAN / half;
  for (int i = 0; i < line->count; i++) {
    double along = (i - half) * line->step;

    line->code[i] = (struct vec3){{0, 0, 0}};
    for (int k = 0; k < LINES; k++) {
      double across = LINES_REACH * (2.0 * k / (LINES - 1) - 1);
      struct point p = along_row ? find_map_apply(map, column + across, row + along)
                                 : find_map_apply(map, column + along, row + across);

      if (!in_frame(image, p) && fabs(along) < 0.5)
        return false;
      line->code[i] = vec3_add(line->code[i], vec3_scale(code_between(image, p), 1.0 / LINES));
    }
  }
  return true;
}

/* Mean of the plateau and its standard deviation. */
static struct vec3 plateau_of(const struct profile_line *line, double *noise)
{
  int half = line->count / 2, reach = (int)(PLATEAU / line->step);
  struct vec3 mean = {{0, 0, 0}};
  double sum = 0;

  for (int i = half - reach; i <= half + reach; i++)
    mean = vec3_add(mean, vec3_scale(line->code[i], 1.0 / (2 * reach + 1)));
  for (int i = half - reach; i <= half + reach; i++) {
    struct vec3 d = vec3_subtract(line->code[i], mean);

    sum += vec3_dot(d, d) / (2 * reach + 1);
  }
  *noise = sqrt(sum);
  return mean;
}

/* Distance of the edge on one side, in pitches; negative when there is none. */
static double edge_on(const struct profile_line *line, struct vec3 plateau, double noise, int side)
{
  int half = line->count / 2, from = (int)ceil(OUTSIDE_FROM / line->step),
      to = (int)(OUTSIDE_TO / line->step), at;
  double far = 0, before = 0, here = 0;
  struct vec3 step = {{0, 0, 0}};

  for (int i = from; i <= to; i++) {
    struct vec3 d = vec3_subtract(line->code[half + side * i], plateau);

    if (vec3_dot(d, d) > far) {
      far = vec3_dot(d, d);
      step = d;
    }
  }
  if (sqrt(far) < CONTRAST || sqrt(far) < CONTRAST_NOISE * noise)
    return -1;
  for (at = 0; at <= to; at++) {
    before = here;
    here = vec3_dot(vec3_subtract(line->code[half + side * at], plateau), step) / far;
    if (here >= 0.5)
      break;
  }
  return at == 0 || at > to ? -1 : (at - (here - 0.5) / (here - before)) * line->step;
}

struct centre {
  bool found;
  double shift, width; /* in pitches */
};

static struct centre centre_find(const struct image *image, const struct mat3 *map, int column, int row,
                                 bool along_row)
{
  struct profile_line line;
  double noise, ahead, behind;
  struct vec3 plateau;

  if (!line_read(image, map, column, row, along_row, &line))
    return (struct centre){0};
  plateau = plateau_of(&line, &noise);
  ahead = edge_on(&line, plateau, noise, 1);
  behind = edge_on(&line, plateau, noise, -1);
  return (struct centre){ahead > 0 && behind > 0, (ahead - behind) / 2, ahead + behind};
}

static int number_order(const void *a, const void *b)
{
  double one = *(const double *)a, two = *(const double *)b;

  return (one > two) - (one < two);
}

static double median_of(const struct centre *centre, int cells, double (*value)(const struct centre *))
{
  double list[FIND_CELLS];
  int count = 0;

  for (int k = 0; k < cells; k++)
    if (centre[k].found)
      list[count++] = value(&centre[k]);
  qsort(list, (size_t)count, sizeof *list, number_order);
  return count ? list[count / 2] : 0;
}

static double width_of(const struct centre *centre)
{
  return centre->width;
}

/* Finds centres along one axis; leaves out those of odd width; returns how many are left. */
static int centres_find(const struct image *image, const struct find_match *match, bool along_row,
                        struct centre *centre, double *median_width)
{
  int cells = match->layout->columns * match->layout->rows, count = 0;
  double width;

  for (int k = 0; k < cells; k++)
    centre[k] =
        centre_find(image, &match->map, k % match->layout->columns, k / match->layout->columns, along_row);
  width = *median_width = median_of(centre, cells, width_of);
  for (int k = 0; k < cells; k++) {
    centre[k].found = centre[k].found && fabs(centre[k].width - width) < WIDTH_OFF * width;
    count += centre[k].found;
  }
  return count;
}

/* Residuals of the fitted correction; drops strays and returns whether any were. */
static bool strays_drop(const struct mat3 *fitted, const struct find_layout *layout, struct centre *centre[2])
{
  double list[2 * FIND_CELLS], residual[2][FIND_CELLS], limit;
  int count = 0, cells = layout->columns * layout->rows;
  bool dropped = false;

  for (int k = 0; k < cells; k++) {
    int column = k % layout->columns, row = k / layout->columns;
    struct point p = find_map_apply(fitted, column, row);

    residual[0][k] = fabs(p.x - column - centre[0][k].shift);
    residual[1][k] = fabs(p.y - row - centre[1][k].shift);
    for (int i = 0; i < 2; i++)
      if (centre[i][k].found)
        list[count++] = residual[i][k];
  }
  qsort(list, (size_t)count, sizeof *list, number_order);
  limit = STRAY * 1.4826 * list[count / 2] + 0.003;
  for (int k = 0; k < cells; k++)
    for (int i = 0; i < 2; i++)
      if (centre[i][k].found && residual[i][k] > limit) {
        centre[i][k].found = false;
        dropped = true;
      }
  return dropped;
}

/* The map from column, row as taken so far to column, row as measured. */
static bool correction_fit(const struct find_layout *layout, struct centre *centre[2],
                           struct mat3 *correction)
{
  for (int round = 0; round < ROUNDS; round++) {
    struct find_tie tie[FIND_CELLS];
    int count = 0;

    for (int k = 0; k < layout->columns * layout->rows; k++) {
      int column = k % layout->columns, row = k / layout->columns;

      if (centre[0][k].found || centre[1][k].found)
        tie[count++] = (struct find_tie){column,
                                         row,
                                         column + centre[0][k].shift,
                                         row + centre[1][k].shift,
                                         centre[0][k].found,
                                         centre[1][k].found};
    }
    if (count < TIES_MIN || !find_map_fit(tie, count, false, correction))
      return false;
    if (!strays_drop(correction, layout, centre))
      break;
  }
  return true;
}

void find_refine(const struct image *image, struct find_match *match)
{
  for (int round = 0; round < ROUNDS; round++) {
    struct centre along[FIND_CELLS], across[FIND_CELLS], *centre[2] = {along, across};
    struct mat3 correction;

    if (centres_find(image, match, false, along, &match->width[0]) < TIES_MIN ||
        centres_find(image, match, true, across, &match->width[1]) < TIES_MIN ||
        !correction_fit(match->layout, centre, &correction))
      return;
    match->map = mat3_multiply(match->map, correction);
  }
}

/* A patch of the card's own size where the lattice goes on. */
static bool patch_like(const struct image *image, const struct find_match *match, int column, int row)
{
  for (int axis = 0; axis < 2; axis++) {
    struct centre centre = centre_find(image, &match->map, column, row, axis == 1);

    if (!centre.found || fabs(centre.width - match->width[axis]) > WIDTH_OFF * match->width[axis] ||
        fabs(centre.shift) > SHIFT_OFF)
      return false;
  }
  return true;
}

int find_patches_beyond(const struct image *image, const struct find_match *match)
{
  int columns = match->layout->columns, rows = match->layout->rows, count = 0;

  for (int column = -1; column <= columns; column++)
    for (int row = -1; row <= rows; row++)
      if (column < 0 || row < 0 || column == columns || row == rows)
        count += patch_like(image, match, column, row);
  return count;
}

static void sample_read(const struct image *image, const struct mat3 *map, int column, int row,
                        struct find_sample *sample)
{
  double pitch = fmin(pitch_at(map, column, row, false), pitch_at(map, column, row, true));
  int side = (int)fmin(fmax(2 * SAMPLE_REACH * pitch, 3), GRID_MAX);
  struct vec3 sum = {{0, 0, 0}}, squares = {{0, 0, 0}};

  *sample = (struct find_sample){.inside = true};
  for (int i = 0; i < side * side; i++) {
    struct point p = find_map_apply(map, column + SAMPLE_REACH * (2.0 * (i % side) / (side - 1) - 1),
                                    row + SAMPLE_REACH * (2.0 * (i / side) / (side - 1) - 1));
    struct vec3 code;

    if (!in_frame(image, p)) {
      sample->inside = false;
      return;
    }
    code = code_between(image, p);
    sum = vec3_add(sum, code);
    squares = vec3_add(squares, vec3_multiply(code, code));
  }
  sample->code = vec3_scale(sum, 1.0 / (side * side));
  squares =
      vec3_subtract(vec3_scale(squares, 1.0 / (side * side)), vec3_multiply(sample->code, sample->code));
  sample->spread = sqrt(fmax(squares.v[0] + squares.v[1] + squares.v[2], 0) / 3);
}

void find_samples_read(const struct image *image, const struct find_match *match, struct find_sample *sample)
{
  for (int k = 0; k < match->layout->columns * match->layout->rows; k++)
    sample_read(image, &match->map, k % match->layout->columns, k / match->layout->columns, &sample[k]);
}
