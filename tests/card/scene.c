/* SPDX-License-Identifier: MIT */
#include "scene.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { SAMPLES = 3, SHAPES_MAX = 200 };

/* XYZ under D50 to linear sRGB (IEC 61966-2-1 primaries, Bradford). */
static const struct mat3 linear_from_d50 = {{{3.1338561, -1.6168667, -0.4906146},
                                             {-0.9787684, 1.9161415, 0.0334540},
                                             {0.0719453, -0.2289914, 1.4052427}}};

struct scene_card scene_chart(const struct card_reference *reference)
{
  struct scene_card card = {.columns = 6, .rows = 4, .fill = 0.88, .rim = 0.75};

  for (size_t k = 0; k < 24; k++) {
    struct xyz xyz = colour_xyz_from_lab(reference->patch[k].lab_d50, COLOUR_WHITE_D50);
    struct vec3 linear = mat3_apply(linear_from_d50, (struct vec3){{xyz.X / 100, xyz.Y / 100, xyz.Z / 100}});

    for (int i = 0; i < 3; i++)
      card.linear[k].v[i] = fmax(linear.v[i], 0);
  }
  return card;
}

void scene_place(struct scene_card *card, double pitch, double turn, double tilt, double direction,
                 struct point centre)
{
  double size = fmax(card->columns, card->rows), away = 3 * size; /* of the camera, in pitches */
  double c = cos(turn), s = sin(turn), u = cos(direction), v = sin(direction), t = cos(tilt) - 1;
  struct mat3 grid = {{{1, 0, -(card->columns - 1) / 2.0}, {0, 1, -(card->rows - 1) / 2.0}, {0, 0, 1}}};
  struct mat3 plane = {{{c, -s, 0}, {s, c, 0}, {0, 0, 1}}};
  /* Points off the axis (u, v) move towards it and away from the camera. */
  struct mat3 lean = {{{1 + t * v * v, -t * u * v, 0},
                       {-t * u * v, 1 + t * u * u, 0},
                       {-sin(tilt) * v / away, sin(tilt) * u / away, 1}}};
  struct mat3 photo = {{{pitch, 0, centre.x}, {0, pitch, centre.y}, {0, 0, 1}}};

  card->photo_from_grid = mat3_multiply(photo, mat3_multiply(lean, mat3_multiply(plane, grid)));
}

struct point scene_point(const struct scene_card *card, double column, double row)
{
  struct vec3 p = mat3_apply(card->photo_from_grid, (struct vec3){{column, row, 1}});

  return (struct point){p.v[0] / p.v[2], p.v[1] / p.v[2]};
}

bool scene_inside(const struct scene *scene, const struct scene_card *card)
{
  for (int k = 0; k < 4; k++) {
    struct point p = scene_point(card, k % 2 ? card->columns - 1 + card->rim : -card->rim,
                                 k / 2 ? card->rows - 1 + card->rim : -card->rim);

    if (p.x < 0 || p.y < 0 || p.x > scene->width || p.y > scene->height)
      return false;
  }
  return true;
}

/* A rectangle or an ellipse of one colour, or a slope of light between two. */
struct shape {
  double x, y, a, b, cosine, sine;
  bool round;
  struct vec3 linear, slope;
};

static struct vec3 any_colour(struct random *random)
{
  double level = pow(random_unit(random), 2);
  struct vec3 colour;

  for (int i = 0; i < 3; i++)
    colour.v[i] = level * random_between(random, 0.4, 1.0);
  return colour;
}

static struct shape any_shape(const struct scene *scene, struct random *random)
{
  double turn = random_between(random, 0, 6.3),
         size = scene->width * pow(10, random_between(random, -2.3, -0.5));
  struct shape shape = {.x = random_between(random, 0, scene->width),
                        .y = random_between(random, 0, scene->height),
                        .a = size,
                        .b = size * random_between(random, 0.2, 1),
                        .cosine = cos(turn),
                        .sine = sin(turn),
                        .round = random_unit(random) < 0.5,
                        .linear = any_colour(random)};

  shape.slope = vec3_scale(shape.linear, random_between(random, -0.4, 0.4) / size);
  return shape;
}

static struct vec3 background(const struct shape *shape, int count, double x, double y)
{
  struct vec3 linear = {{0.3, 0.25, 0.2}};

  for (int i = 0; i < count; i++) {
    double dx = x - shape[i].x, dy = y - shape[i].y;
    double u = dx * shape[i].cosine + dy * shape[i].sine, v = dy * shape[i].cosine - dx * shape[i].sine;

    if (shape[i].round ? (u * u) / (shape[i].a * shape[i].a) + (v * v) / (shape[i].b * shape[i].b) < 1
                       : fabs(u) < shape[i].a && fabs(v) < shape[i].b)
      linear = vec3_add(shape[i].linear, vec3_scale(shape[i].slope, u));
  }
  return linear;
}

/* True, and the light at a place, when it lies on the card. */
static bool card_light(const struct scene_card *card, const struct mat3 *grid_from_photo, double x, double y,
                       struct vec3 *linear)
{
  static const struct vec3 board = {{0.03, 0.03, 0.03}};
  struct vec3 p = mat3_apply(*grid_from_photo, (struct vec3){{x, y, 1}});
  double column = p.v[0] / p.v[2], row = p.v[1] / p.v[2];
  int c = (int)lround(column), r = (int)lround(row);

  if (column < -card->rim || row < -card->rim || column > card->columns - 1 + card->rim ||
      row > card->rows - 1 + card->rim)
    return false;
  *linear = board;
  if (c >= 0 && r >= 0 && c < card->columns && r < card->rows && fabs(column - c) < card->fill / 2 &&
      fabs(row - r) < card->fill / 2)
    *linear = card->linear[r * card->columns + c];
  return true;
}

static struct vec3 light_at(const struct scene *scene, const struct mat3 *inverse, const struct shape *shape,
                            double x, double y)
{
  struct vec3 linear;

  for (int i = 0; i < scene->cards; i++)
    if (card_light(&scene->card[i], &inverse[i], x, y, &linear))
      return linear;
  return background(shape, scene->clutter, x, y);
}

/* Light of a pixel: 3 x 3 samples where an edge of a card may run, else one. */
static struct vec3 pixel_light(const struct scene *scene, const struct mat3 *inverse,
                               const struct shape *shape, int x, int y)
{
  struct vec3 sum = {{0, 0, 0}}, light;
  bool on_card = false;

  for (int i = 0; i < scene->cards; i++)
    on_card = on_card || card_light(&scene->card[i], &inverse[i], x + 0.5, y + 0.5, &light);
  if (!on_card)
    return light_at(scene, inverse, shape, x + 0.5, y + 0.5);
  for (int i = 0; i < SAMPLES; i++)
    for (int k = 0; k < SAMPLES; k++)
      sum = vec3_add(sum, light_at(scene, inverse, shape, x + (i + 0.5) / SAMPLES, y + (k + 0.5) / SAMPLES));
  return vec3_scale(sum, 1.0 / (SAMPLES * SAMPLES));
}

static void code_set(const struct scene *scene, struct vec3 linear, struct random *random,
                     struct image *image, size_t at)
{
  for (size_t i = 0; i < 3; i++) {
    double light = fmin(fmax(linear.v[i] * scene->cast.v[i] + scene->veil, 0), 1);
    double code = pow(light, 1 / scene->gamma) + scene->noise * random_normal(random);

    code = fmin(fmax(code, 0), 1) * image_code_max(image);
    if (image->bits == 8)
      ((uint8_t *)image->codes)[at + i] = (uint8_t)lround(code);
    else
      ((uint16_t *)image->codes)[at + i] = (uint16_t)lround(code);
  }
}

void scene_render(const struct scene *scene, struct random *random, struct image *image)
{
  struct mat3 inverse[SCENE_CARDS_MAX];
  struct shape shape[SHAPES_MAX];

  *image = (struct image){.width = scene->width, .height = scene->height, .bits = scene->bits};
  image->codes = malloc((size_t)scene->width * (size_t)scene->height * 3 * (size_t)scene->bits / 8);
  if (image->codes == NULL)
    abort();
  for (int i = 0; i < scene->cards; i++)
    if (!mat3_invert(scene->card[i].photo_from_grid, &inverse[i]))
      abort();
  for (int i = 0; i < scene->clutter; i++)
    shape[i] = any_shape(scene, random);
  for (int y = 0; y < scene->height; y++)
    for (int x = 0; x < scene->width; x++)
      code_set(scene, pixel_light(scene, inverse, shape, x, y), random, image,
               3 * ((size_t)y * (size_t)scene->width + (size_t)x));
}
