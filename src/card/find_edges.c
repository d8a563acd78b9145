/* SPDX-License-Identifier: MIT */
/* What the photo itself shows of a patch.
 *
 * Along each axis of a patch a profile of codes, averaged over the middle of the patch, leaves the patch's own colour on both
 * sides; where it is half-way to what lies outside is an edge, blurred or not. The middle between both edges is the
 * patch's centre along that axis, whatever its size and gap. */
#include <math.h>

#include "card/find_parts.h"

enum { HALF_MAX = 64, STEPS_MAX = 2 * HALF_MAX + 1, LINES = 7, GRID_MAX = 9 };
#define SPAN 0.62        /* of the pitch: a profile's reach to both sides           */
#define PLATEAU 0.20     /* the patch's own colour                                  */
#define OUTSIDE_FROM 0.3 /* what lies outside is looked for from here               */
#define OUTSIDE_TO 0.52  /* to here: the middle of the gap                          */
#define LINES_REACH 0.25 /* half width of the averaged band                         */
#define CONTRAST 0.02    /* least step at an edge, codes                            */
#define CONTRAST_NOISE 4 /* and in standard deviations of the plateau               */
#define SAMPLE_REACH 0.25

double find_match_sag(const struct find_layout *layout, double column, double row)
{
  double u = layout->columns >= layout->rows ? column / (layout->columns - 1) : row / (layout->rows - 1);

  return 4 * u * (1 - u);
}

struct point find_match_place(const struct find_match *match, double column, double row)
{
  struct point place = find_map_apply(&match->map, column, row);
  double sag = find_match_sag(match->layout, column, row);

  return (struct point){place.x + sag * match->bend.x, place.y + sag * match->bend.y};
}

double find_match_pitch(const struct find_match *match)
{
  double c = (match->layout->columns - 1) / 2.0, r = (match->layout->rows - 1) / 2.0;
  struct point p = find_map_apply(&match->map, c, r), u = find_map_apply(&match->map, c + 1, r),
               v = find_map_apply(&match->map, c, r + 1);

  return fmin(hypot(u.x - p.x, u.y - p.y), hypot(v.x - p.x, v.y - p.y));
}

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

static double pitch_at(const struct find_match *match, double column, double row, bool along_row)
{
  struct point a = find_match_place(match, column - (along_row ? 0 : 0.5), row - (along_row ? 0.5 : 0));
  struct point b = find_match_place(match, column + (along_row ? 0 : 0.5), row + (along_row ? 0.5 : 0));

  return hypot(b.x - a.x, b.y - a.y);
}

struct profile_line {
  int count; /* odd: the middle one is the patch's centre */
  double step;
  struct vec3 code[STEPS_MAX];
};

/* False when a part lies outside the frame. */
static bool line_read(const struct image *image, const struct find_match *match, int column, int row,
                      bool along_row, struct profile_line *line)
{
  int half = (int)fmin(fmax(SPAN * 2 * pitch_at(match, column, row, along_row), 12), HALF_MAX);

  line->count = 2 * half + 1;
  line->step = SPAN / half;
  for (int i = 0; i < line->count; i++) {
    double along = (i - half) * line->step;

    line->code[i] = (struct vec3){{0, 0, 0}};
    for (int k = 0; k < LINES; k++) {
      double across = LINES_REACH * (2.0 * k / (LINES - 1) - 1);
      struct point p = along_row ? find_match_place(match, column + across, row + along)
                                 : find_match_place(match, column + along, row + across);

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

struct find_centre find_centre_read(const struct image *image, const struct find_match *match, int column,
                                    int row, bool along_row)
{
  struct profile_line line;
  double noise, ahead, behind;
  struct vec3 plateau;

  if (!line_read(image, match, column, row, along_row, &line))
    return (struct find_centre){0};
  plateau = plateau_of(&line, &noise);
  ahead = edge_on(&line, plateau, noise, 1);
  behind = edge_on(&line, plateau, noise, -1);
  return (struct find_centre){ahead > 0 && behind > 0, (ahead - behind) / 2, ahead + behind};
}

static void sample_read(const struct image *image, const struct find_match *match, int column, int row,
                        struct find_sample *sample)
{
  double pitch = fmin(pitch_at(match, column, row, false), pitch_at(match, column, row, true));
  int side = (int)fmin(fmax(2 * SAMPLE_REACH * pitch, 3), GRID_MAX);
  struct vec3 sum = {{0, 0, 0}}, squares = {{0, 0, 0}};

  *sample = (struct find_sample){.inside = true};
  for (int i = 0; i < side * side; i++) {
    int x = i % side, y = i / side;
    struct point p = find_match_place(match, column + SAMPLE_REACH * (2.0 * x / (side - 1) - 1),
                                      row + SAMPLE_REACH * (2.0 * y / (side - 1) - 1));
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
    sample_read(image, match, k % match->layout->columns, k / match->layout->columns, &sample[k]);
}
