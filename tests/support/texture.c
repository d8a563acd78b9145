/* SPDX-License-Identifier: MIT */
#include "texture.h"

#include <math.h>
#include <string.h>

static double lattice(int64_t i, int64_t j, uint64_t seed)
{
  uint64_t z = (uint64_t)i * 0x9e3779b97f4a7c15u ^ (uint64_t)j * 0xc2b2ae3d27d4eb4fu ^ seed;

  z = (z ^ (z >> 29)) * 0xbf58476d1ce4e5b9u;
  z = (z ^ (z >> 32)) * 0x94d049bb133111ebu;
  return (double)(int64_t)(z ^ (z >> 31)) * 0x1p-63;
}

/* Even numbers -1..1 at lattice points, blended by 3 t^2 - 2 t^3. Mean square over the cell: 1/3 (2 * 13/35)^2. */
double texture_noise(double x, double y, double length, uint64_t seed)
{
  const double scale = 2.3316; /* 1 / sqrt(0.18395) */
  double u = floor(x / length), v = floor(y / length);
  double s = x / length - u, t = y / length - v;
  int64_t i = (int64_t)u, j = (int64_t)v;

  s = s * s * (3 - 2 * s);
  t = t * t * (3 - 2 * t);
  double above = lattice(i, j, seed) + s * (lattice(i + 1, j, seed) - lattice(i, j, seed));
  double below = lattice(i, j + 1, seed) + s * (lattice(i + 1, j + 1, seed) - lattice(i, j + 1, seed));
  return scale * (above + t * (below - above));
}

/* Octaves turned against each other, so that the lattices do not show. */
static double octave(double x, double y, double length, uint64_t seed)
{
  double c = cos(length), s = sin(length);

  return texture_noise(c * x - s * y, s * x + c * y, length, seed);
}

struct texture_value texture_at(const struct scene_texture *texture, double x, double y, uint64_t seed)
{
  struct texture_value value = {0, 0};

  if (texture->size > 0) {
    double fine =
        0.8 * octave(x, y, texture->grain, seed + 1) + 0.6 * octave(x, y, 2.7 * texture->grain, seed + 2);
    double coarse = 0.6 * octave(x, y, 23, seed + 3) + 0.8 * octave(x, y, 97, seed + 4);
    value.level = texture->size * (sqrt(1 - texture->coarse) * fine + sqrt(texture->coarse) * coarse);
  }
  if (texture->mottle > 0) {
    value.mottle = texture->mottle * (0.8 * octave(x, y, 31, seed + 5) + 0.6 * octave(x, y, 67, seed + 6));
  }
  return value;
}

static int crossings(const struct scene_deposit *deposit, double y, double *x)
{
  int count = 0;

  for (int i = 0, j = deposit->vertices - 1; i < deposit->vertices; j = i++) {
    struct point a = deposit->vertex[i], b = deposit->vertex[j];
    if ((a.y > y) != (b.y > y)) {
      double at = a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x);
      int place = count++;
      for (; place > 0 && x[place - 1] > at; place--) {
        x[place] = x[place - 1];
      }
      x[place] = at;
    }
  }
  return count;
}

static void fill_row(uint8_t *row, int width, double from, double to, uint8_t id)
{
  int first = (int)fmax(ceil(from - 0.5), 0), last = (int)fmin(ceil(to - 0.5), width);

  if (last > first) {
    memset(row + first, id, (size_t)(last - first));
  }
}

void texture_paint_deposits(const struct scene *scene, uint8_t *map)
{
  double x[SCENE_VERTICES_MAX];

  memset(map, 0, (size_t)scene->width * (size_t)scene->height);
  for (int id = 0; id < scene->deposits; id++) {
    for (int row = 0; row < scene->height; row++) {
      int count = crossings(&scene->deposit[id], row + 0.5, x);
      for (int k = 0; k + 1 < count; k += 2) {
        fill_row(map + (size_t)row * (size_t)scene->width, scene->width, x[k], x[k + 1], (uint8_t)id);
      }
    }
  }
}

struct ellipse {
  double x, y, long_half, short_half, cosine, sine;
};

static void paint_ellipse(const struct scene *scene, uint8_t *map, const struct ellipse *e, uint8_t over,
                          uint8_t id)
{
  int left = (int)fmax(e->x - e->long_half, 0), right = (int)fmin(e->x + e->long_half + 1, scene->width - 1);
  int top = (int)fmax(e->y - e->long_half, 0), bottom = (int)fmin(e->y + e->long_half + 1, scene->height - 1);

  for (int y = top; y <= bottom; y++) {
    for (int x = left; x <= right; x++) {
      double dx = x + 0.5 - e->x, dy = y + 0.5 - e->y;
      double u = (e->cosine * dx + e->sine * dy) / e->long_half,
             v = (e->cosine * dy - e->sine * dx) / e->short_half;
      uint8_t *at = map + (size_t)y * (size_t)scene->width + (size_t)x;
      if (u * u + v * v <= 1 && *at == over) {
        *at = id;
      }
    }
  }
}

static struct ellipse some_ellipse(const struct scene *scene, double size, struct random *random)
{
  double long_half = size * exp(0.45 * random_normal(random)), angle = random_between(random, 0, 3.14159);
  struct ellipse e = {random_between(random, 0, scene->width),
                      random_between(random, 0, scene->height),
                      long_half,
                      long_half * random_between(random, 0.35, 0.95),
                      cos(angle),
                      sin(angle)};

  return e;
}

/* Strewn over the whole picture, and seen where the deposit is. */
void texture_paint_inclusions(const struct scene *scene, uint8_t *map)
{
  struct random random = random_start(scene->seed ^ 0x73746f6e6573u);
  double area = (double)scene->width * scene->height;

  for (int id = 0; id < scene->deposits; id++) {
    const struct scene_texture *texture = &scene->deposit[id].texture;
    double one = 3.14159 * 0.65 * texture->stone_pixels * texture->stone_pixels * exp(2 * 0.45 * 0.45);
    int count = texture->stones > 0 ? (int)(texture->stones * area / one) : 0;
    for (int k = 0; k < count; k++) {
      struct ellipse e = some_ellipse(scene, texture->stone_pixels, &random);
      paint_ellipse(scene, map, &e, (uint8_t)id,
                    (uint8_t)(TEXTURE_INCLUSION + random_below(&random, TEXTURE_KINDS)));
    }
  }
}

/* An uneven blot: the radius waves with the angle. */
struct blot {
  double x, y, radius, wave[2];
};

static void paint_blot(const struct scene *scene, uint8_t *map, const struct blot *b)
{
  double reach = 1.3 * b->radius;
  int left = (int)fmax(b->x - reach, 0), right = (int)fmin(b->x + reach + 1, scene->width - 1);
  int top = (int)fmax(b->y - reach, 0), bottom = (int)fmin(b->y + reach + 1, scene->height - 1);

  for (int y = top; y <= bottom; y++) {
    for (int x = left; x <= right; x++) {
      double dx = x + 0.5 - b->x, dy = y + 0.5 - b->y, angle = atan2(dy, dx);
      double rim = b->radius * (1 + 0.14 * sin(2 * angle + b->wave[0]) + 0.1 * sin(3 * angle + b->wave[1]));
      uint8_t *at = map + (size_t)y * (size_t)scene->width + (size_t)x;
      if (dx * dx + dy * dy <= rim * rim && *at == scene->lumps.in) {
        *at = (uint8_t)scene->lumps.of;
      }
    }
  }
}

/* Counts events of an even process until time runs out. */
static int poisson(double mean, struct random *random)
{
  int count = 0;

  for (double time = -log(1 - random_unit(random)); time < mean; time -= log(1 - random_unit(random))) {
    count++;
  }
  return count;
}

/* Blots overlap at random: their share is 1 - exp(-number x mean area / area). The waves add (0.14^2 + 0.1^2) / 2 to a blot's
 * area, the spread of sizes exp(2 0.35^2). Middles lie also beyond the frame. */
void texture_paint_lumps(const struct scene *scene, uint8_t *map)
{
  const struct scene_lumps *lumps = &scene->lumps;
  const double deviation = 0.35, margin = 2 * lumps->pixels;
  struct random random = random_start(scene->seed ^ 0x6c756d7073u);

  if (lumps->share <= 0) {
    return;
  }
  double blot = 3.14159265 / 4 * lumps->pixels * lumps->pixels * exp(2 * deviation * deviation) * 1.0148;
  double area = (scene->width + 2 * margin) * (scene->height + 2 * margin);
  int count = poisson(-log(1 - lumps->share) * area / blot, &random);
  for (int i = 0; i < count; i++) {
    struct blot b = {random_between(&random, -margin, scene->width + margin),
                     random_between(&random, -margin, scene->height + margin),
                     lumps->pixels / 2 * exp(deviation * random_normal(&random)),
                     {random_between(&random, 0, 6.2832), random_between(&random, 0, 6.2832)}};
    paint_blot(scene, map, &b);
  }
}
