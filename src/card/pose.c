/* SPDX-License-Identifier: MIT */
#include "card/pose.h"

#include <math.h>

/* Sine of the smallest angle at a corner that is no straight line. */
static const double CORNER_SINE_MIN = 0.01;

static double cross(struct point a, struct point b, struct point c)
{
  return (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x);
}

static double distance(struct point a, struct point b)
{
  return hypot(b.x - a.x, b.y - a.y);
}

/* The inverse up to a factor, which a plane map does not need: no division, so no matter how small the determinant. */
static struct mat3 adjugate(const struct mat3 *a)
{
  struct mat3 result;

  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      int i1 = (i + 1) % 3, i2 = (i + 2) % 3, j1 = (j + 1) % 3, j2 = (j + 2) % 3;
      result.m[j][i] = a->m[i1][j1] * a->m[i2][j2] - a->m[i1][j2] * a->m[i2][j1];
    }
  }
  return result;
}

/* The map from the unit square (0,0) (1,0) (1,1) (0,1) to a quadrilateral (Heckbert 1989,
 * Fundamentals of Texture Mapping and Image Warping, 2.2.3). The corners must be convex. */
static struct mat3 square_to(const struct point p[4])
{
  double dx1 = p[1].x - p[2].x, dy1 = p[1].y - p[2].y, dx2 = p[3].x - p[2].x, dy2 = p[3].y - p[2].y;
  double sx = p[0].x - p[1].x + p[2].x - p[3].x, sy = p[0].y - p[1].y + p[2].y - p[3].y;
  double base = dx1 * dy2 - dx2 * dy1;
  double g = (sx * dy2 - dx2 * sy) / base, h = (dx1 * sy - sx * dy1) / base;

  return (struct mat3){{{p[1].x - p[0].x + g * p[1].x, p[3].x - p[0].x + h * p[3].x, p[0].x},
                        {p[1].y - p[0].y + g * p[1].y, p[3].y - p[0].y + h * p[3].y, p[0].y},
                        {g, h, 1}}};
}

static struct point apply(const struct mat3 *map, double x, double y)
{
  struct vec3 p = mat3_apply(*map, (struct vec3){{x, y, 1}});

  return (struct point){p.v[0] / p.v[2], p.v[1] / p.v[2]};
}

/* Place along the longer side, 0..1 between the corner places. */
static double along(const struct card_reference *card, double x_mm, double y_mm)
{
  const struct card_place *c = card->corner_place;
  double x0 = c[0].x_mm, x1 = x0, y0 = c[0].y_mm, y1 = y0;

  for (int k = 1; k < 4; k++) {
    x0 = fmin(x0, c[k].x_mm);
    x1 = fmax(x1, c[k].x_mm);
    y0 = fmin(y0, c[k].y_mm);
    y1 = fmax(y1, c[k].y_mm);
  }
  return x1 - x0 >= y1 - y0 ? (x_mm - x0) / (x1 - x0) : (y_mm - y0) / (y1 - y0);
}

struct point card_pose_project(const struct card_pose *pose, const struct card_reference *card, double x_mm,
                               double y_mm)
{
  struct point place = apply(&pose->photo_from_card, x_mm, y_mm);

  if (pose->bend.x != 0 || pose->bend.y != 0) {
    double u = along(card, x_mm, y_mm), sag = 4 * u * (1 - u);
    place.x += sag * pose->bend.x;
    place.y += sag * pose->bend.y;
  }
  return place;
}

/* Middle of the corner places. */
static struct card_place middle(const struct card_reference *card)
{
  struct card_place sum = {0, 0};

  for (int k = 0; k < 4; k++) {
    sum.x_mm += card->corner_place[k].x_mm / 4;
    sum.y_mm += card->corner_place[k].y_mm / 4;
  }
  return sum;
}

static double depth(const struct mat3 *map, double x, double y)
{
  return map->m[2][0] * x + map->m[2][1] * y + map->m[2][2];
}

bool card_pose_unproject(const struct card_pose *pose, const struct card_reference *card, struct point place,
                         double *x_mm, double *y_mm)
{
  struct mat3 back = adjugate(&pose->photo_from_card);
  struct card_place centre = middle(card);
  struct point at = apply(&back, place.x, place.y);
  bool bent = pose->bend.x != 0 || pose->bend.y != 0;

  for (int round = 0; bent && round < 20; round++) { /* contracts: the sag is small against the card */
    double u = along(card, at.x, at.y), sag = 4 * u * (1 - u);
    at = apply(&back, place.x - sag * pose->bend.x, place.y - sag * pose->bend.y);
  }
  *x_mm = at.x;
  *y_mm = at.y;
  double here = depth(&pose->photo_from_card, at.x, at.y);
  double there = depth(&pose->photo_from_card, centre.x_mm, centre.y_mm);
  return isfinite(at.x) && isfinite(at.y) && here * there > 0;
}

bool card_pose_covers(const struct card_pose *pose, const struct card_reference *card, struct point place)
{
  struct card_extent e = card_reference_extent(card, 0);
  double x, y;

  return card_pose_unproject(pose, card, place, &x, &y) && x > e.left && x < e.right && y > e.top &&
         y < e.bottom;
}

void card_pose_outline(const struct card_pose *pose, const struct card_reference *card, size_t patch,
                       double share, struct point outline[4])
{
  static const double side_x[4] = {-0.5, 0.5, 0.5, -0.5}, side_y[4] = {-0.5, -0.5, 0.5, 0.5};
  const struct card_patch *p = &card->patch[patch];

  for (int k = 0; k < 4; k++) {
    outline[k] = card_pose_project(pose, card, p->x_mm + side_x[k] * share * p->width_mm,
                                   p->y_mm + side_y[k] * share * p->height_mm);
  }
}

/* Pixels per mm along x and y at the card's middle: the columns are the derivatives of the plane map. */
static void jacobian(const struct card_reference *card, const struct card_pose *pose, struct point *by_x,
                     struct point *by_y)
{
  const struct mat3 *map = &pose->photo_from_card;
  struct card_place c = middle(card);
  struct point at = apply(map, c.x_mm, c.y_mm);
  double w = depth(map, c.x_mm, c.y_mm);

  by_x->x = (map->m[0][0] - at.x * map->m[2][0]) / w;
  by_x->y = (map->m[1][0] - at.y * map->m[2][0]) / w;
  by_y->x = (map->m[0][1] - at.x * map->m[2][1]) / w;
  by_y->y = (map->m[1][1] - at.y * map->m[2][1]) / w;
}

static double shortest_side(const struct card_reference *card, const struct card_pose *pose)
{
  double shortest = INFINITY;

  for (size_t i = 0; i < card->count; i++) {
    struct point outline[4];
    card_pose_outline(pose, card, i, 1, outline);
    for (int k = 0; k < 4; k++) {
      shortest = fmin(shortest, distance(outline[k], outline[(k + 1) % 4]));
    }
  }
  return shortest;
}

/* Arc cosine of the ratio of the two singular values of the 2x2 matrix with the given columns. */
static double foreshortening(struct point a, struct point b)
{
  double half = (a.x * a.x + a.y * a.y + b.x * b.x + b.y * b.y) / 2;
  double area = fabs(a.x * b.y - a.y * b.x);
  double root = sqrt(fmax(half * half - area * area, 0));

  return acos(fmin(1, sqrt(fmax(half - root, 0) / (half + root)))) * 180 / M_PI;
}

void card_pose_complete(const struct card_reference *card, struct card_pose *pose)
{
  struct point by_x, by_y, zero = {0, 0};

  for (int k = 0; k < 4; k++) {
    const struct card_place *place = &card->corner_place[k];
    pose->corner[k] = card_pose_project(pose, card, place->x_mm, place->y_mm);
  }
  jacobian(card, pose, &by_x, &by_y);
  pose->mm_per_pixel = (1 / distance(zero, by_x) + 1 / distance(zero, by_y)) / 2;
  pose->patch_pixels = shortest_side(card, pose);
  pose->tilt_degrees = foreshortening(by_x, by_y);
}

static bool check_corners(const struct point corner[4], struct error *error)
{
  int right = 0, left = 0;

  for (int k = 0; k < 4; k++) {
    struct point a = corner[k], b = corner[(k + 1) % 4], c = corner[(k + 2) % 4];
    double turn = cross(a, b, c), least = CORNER_SINE_MIN * distance(a, b) * distance(b, c);
    right += turn > least;
    left += turn < -least;
  }
  if (right == 4) {
    return true;
  }
  if (left == 4) {
    return error_set(
        error, ERROR_USAGE, "corners",
        "the card's corners are given the wrong way round, or the photo is mirrored; list them in the "
        "order of the card's file");
  }
  return error_set(
      error, ERROR_USAGE, "corners",
      "the card's corners make no four-sided figure without a notch; list them in order round the card");
}

bool card_pose_from_corners(const struct card_reference *card, const struct point corner[4],
                            struct card_pose *pose, struct error *error)
{
  struct point place[4];

  if (!check_corners(corner, error)) {
    return false;
  }
  for (int k = 0; k < 4; k++) {
    place[k] = (struct point){card->corner_place[k].x_mm, card->corner_place[k].y_mm};
  }
  struct mat3 from_square = square_to(place);
  struct mat3 map = mat3_multiply(square_to(corner), adjugate(&from_square));
  struct card_place centre = middle(card);

  *pose = (struct card_pose){.fit = 1};
  pose->photo_from_card = mat3_scale(map, 1 / depth(&map, centre.x_mm, centre.y_mm));
  card_pose_complete(card, pose);
  return true;
}
