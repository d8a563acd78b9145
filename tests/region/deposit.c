/* SPDX-License-Identifier: MIT */
#include "deposit.h"

#include <math.h>
#include <stdlib.h>

#include "colour/srgb.h"
#include "region/outline.h"

/* Stand-ins for the light floor, whose own tests hold it: here the light must be known exactly. */
struct vec3 light_gain(const struct light *light, struct point place)
{
  double gain = exp(light->term[0] * place.x + light->term[1] * place.y);

  return (struct vec3){{gain, gain, gain}};
}

enum light_side light_side_at(const struct light *light, struct point place)
{
  return place.x >= light->term[2] ? LIGHT_BEYOND : LIGHT_AS_CARD;
}

struct light deposit_light(double light_x, double light_y, double edge)
{
  return (struct light){.term = {light_x, light_y, edge}};
}

void deposit_profile(struct profile *profile)
{
  *profile = (struct profile){.used = 24};
  for (int i = 0; i <= ENCODING_STEPS; i++) {
    for (int k = 0; k < 3; k++) {
      profile->encoding.curve[k][i] = colour_srgb_decode((double)i / ENCODING_STEPS);
    }
  }
  static const struct srgb primary[3] = {{255, 0, 0, true}, {0, 255, 0, true}, {0, 0, 255, true}};
  for (int k = 0; k < 3; k++) {
    struct vec3 column = colour_vec_from_xyz(colour_xyz_d50_from_srgb(primary[k]));
    for (int row = 0; row < 3; row++) {
      profile->matrix[row][k] = column.v[row];
      profile->encoding.xyz_from_linear.m[row][k] = column.v[row];
    }
  }
}

struct region deposit_rectangle(double x, double y, double width, double height)
{
  struct region region = {.label = "a"};
  struct error error;

  outline_rectangle(&region, x, y, width, height, &error);
  return region;
}

const char *deposit_dirt_word(enum deposit_dirt dirt)
{
  static const char *const word[DIRT_KINDS] = {"none",  "pebbles", "stones", "roots",
                                               "glint", "shadow",  "all"};

  return word[dirt];
}

struct canvas {
  const struct deposit *deposit;
  struct random random;
  struct vec3 *linear; /* owned; evened, as the deposit is */
  unsigned char *mask; /* owned */
  size_t dirty;
};

static size_t pixels_of(const struct deposit *deposit)
{
  return (size_t)deposit->width * (size_t)deposit->height;
}

/* Normal numbers, smoothed over grain x grain pixels and brought back to unit variance. */
static void fill_texture(struct canvas *canvas, double *field)
{
  const struct deposit *s = canvas->deposit;
  int n = s->grain > 1 ? s->grain : 1, columns = s->width + n, rows = s->height + n;
  double *raw = malloc((size_t)columns * (size_t)rows * sizeof *raw);

  for (size_t i = 0; i < (size_t)columns * (size_t)rows; i++) {
    raw[i] = random_normal(&canvas->random);
  }
  for (int y = 0; y < s->height; y++) {
    for (int x = 0; x < s->width; x++) {
      double sum = 0;
      for (int j = 0; j < n; j++) {
        for (int i = 0; i < n; i++) {
          sum += raw[(y + j) * columns + x + i];
        }
      }
      field[(size_t)y * (size_t)s->width + (size_t)x] = sum / n;
    }
  }
  free(raw);
}

static void fill_deposit(struct canvas *canvas, struct vec3 *clean)
{
  const struct deposit *s = canvas->deposit;
  size_t n = pixels_of(s);
  double *common = malloc(n * sizeof *common), *own = malloc(n * sizeof *own);

  *clean = (struct vec3){{0}};
  fill_texture(canvas, common);
  for (int k = 0; k < 3; k++) {
    fill_texture(canvas, own);
    for (size_t i = 0; i < n; i++) {
      double log_ratio = s->texture * (common[i] + s->hue_texture * own[i]);
      canvas->linear[i].v[k] = s->colour.v[k] * exp(log_ratio - s->texture * s->texture / 2);
      clean->v[k] += canvas->linear[i].v[k] / (double)n;
    }
  }
  free(common);
  free(own);
}

static void dirty(struct canvas *canvas, int x, int y, struct vec3 linear)
{
  const struct deposit *s = canvas->deposit;

  if (x < 0 || y < 0 || x >= s->width || y >= s->height) {
    return;
  }
  size_t i = (size_t)y * (size_t)s->width + (size_t)x;
  canvas->dirty += !canvas->mask[i];
  canvas->mask[i] = 1;
  canvas->linear[i] = linear;
}

/* A spot of one colour, a little shaded. */
static void spot(struct canvas *canvas, double radius, struct vec3 linear)
{
  const struct deposit *s = canvas->deposit;
  int cx = random_below(&canvas->random, s->width), cy = random_below(&canvas->random, s->height);

  for (int y = (int)-radius; y <= radius; y++) {
    for (int x = (int)-radius; x <= radius; x++) {
      if (x * x + y * y <= radius * radius) {
        double shade = exp(0.12 * random_normal(&canvas->random));
        dirty(canvas, cx + x, cy + y, vec3_scale(linear, shade));
      }
    }
  }
}

/* A spot through which the deposit is seen, times `factor` plus `more`. */
static void veil(struct canvas *canvas, double radius, struct vec3 factor, double more)
{
  const struct deposit *s = canvas->deposit;
  int cx = random_below(&canvas->random, s->width), cy = random_below(&canvas->random, s->height);

  for (int y = cy - (int)radius; y <= cy + (int)radius; y++) {
    for (int x = cx - (int)radius; x <= cx + (int)radius; x++) {
      size_t i = (size_t)y * (size_t)s->width + (size_t)x;
      if (x >= 0 && y >= 0 && x < s->width && y < s->height && !canvas->mask[i]) {
        struct vec3 seen = vec3_multiply(canvas->linear[i], factor);
        dirty(canvas, x, y, vec3_add(seen, (struct vec3){{more, more, more}}));
      }
    }
  }
}

static void root(struct canvas *canvas)
{
  const struct deposit *s = canvas->deposit;
  double x = random_between(&canvas->random, 0, s->width), y = random_between(&canvas->random, 0, s->height);
  double angle = random_between(&canvas->random, 0, 2 * M_PI);
  struct vec3 dark = vec3_multiply(s->colour, (struct vec3){{0.42, 0.35, 0.28}});

  for (int i = 0; i < 40; i++) {
    angle += 0.15 * random_normal(&canvas->random);
    x += cos(angle);
    y += sin(angle);
    for (int j = 0; j < 4; j++) {
      dirty(canvas, (int)x + j % 2, (int)y + j / 2,
            vec3_scale(dark, exp(0.15 * random_normal(&canvas->random))));
    }
  }
}

static void add_dirt(struct canvas *canvas, enum deposit_dirt dirt)
{
  const struct deposit *s = canvas->deposit;
  struct random *random = &canvas->random;
  struct vec3 pale = {{0.62, 0.58, 0.5}}, stone = vec3_multiply(s->colour, (struct vec3){{1.9, 2, 2.2}});

  switch (dirt) {
  case DIRT_PEBBLES:
    spot(canvas, random_between(random, 1.5, 5), vec3_scale(pale, random_between(random, 0.8, 1.2)));
    break;
  case DIRT_STONES:
    spot(canvas, random_between(random, 1.5, 5), stone);
    break;
  case DIRT_ROOTS:
    root(canvas);
    break;
  case DIRT_GLINT:
    veil(canvas, random_between(random, 0, 1.5), (struct vec3){{1, 1, 1}},
         -0.25 * log(1 - random_unit(random)));
    break;
  case DIRT_SHADOW: {
    double deep = random_between(random, 0.25, 0.7);
    veil(canvas, random_between(random, 1, 4), (struct vec3){{0.97 * deep, deep, 1.06 * deep}}, 0);
    break;
  }
  default:
    break;
  }
}

static void write_code(const struct deposit *s, struct image *image, size_t at, double linear)
{
  double code = fmin(fmax(colour_srgb_encode(linear), 0), 1);

  if (s->bits == 8) {
    ((uint8_t *)image->codes)[at] = (uint8_t)lround(255 * code);
  } else {
    ((uint16_t *)image->codes)[at] = (uint16_t)lround(65535 * code);
  }
}

/* The light falls on it, and the camera sees it with the noise of counted photons. */
static void expose(struct canvas *canvas, struct image *image)
{
  const struct deposit *s = canvas->deposit;

  for (int y = 0; y < s->height; y++) {
    for (int x = 0; x < s->width; x++) {
      size_t i = (size_t)y * (size_t)s->width + (size_t)x;
      double light = exp(s->light_x * (x + 0.5) + s->light_y * (y + 0.5));
      for (int k = 0; k < 3; k++) {
        double linear = canvas->linear[i].v[k] * light;
        linear += s->noise * sqrt(fmax(linear, 0) / 0.2) * random_normal(&canvas->random);
        write_code(s, image, 3 * i + (size_t)k, linear);
      }
    }
  }
}

/* JFIF 1.02: luma is kept, the two chroma numbers are averaged over a square and rounded. */
static void coarsen_square(struct image *image, int left, int top)
{
  int right = left + 2 < image->width ? left + 2 : image->width;
  int bottom = top + 2 < image->height ? top + 2 : image->height;
  double cb = 0, cr = 0, n = (double)((right - left) * (bottom - top));

  for (int pass = 0; pass < 2; pass++) {
    for (int y = top; y < bottom; y++) {
      for (int x = left; x < right; x++) {
        uint8_t *code = (uint8_t *)image->codes + 3 * ((size_t)y * (size_t)image->width + (size_t)x);
        double luma = 0.299 * code[0] + 0.587 * code[1] + 0.114 * code[2];
        if (pass == 0) {
          cb += (code[2] - luma) / 1.772 / n;
          cr += (code[0] - luma) / 1.402 / n;
          continue;
        }
        double rgb[3] = {luma + 1.402 * cr, luma - 0.34414 * cb - 0.71414 * cr, luma + 1.772 * cb};
        for (int k = 0; k < 3; k++) {
          code[k] = (uint8_t)lround(fmin(fmax(rgb[k], 0), 255));
        }
      }
    }
    cb = round(cb);
    cr = round(cr);
  }
}

static void coarsen_chroma(struct image *image)
{
  for (int y = 0; y < image->height; y += 2) {
    for (int x = 0; x < image->width; x += 2) {
      coarsen_square(image, x, y);
    }
  }
  image->lossy = true;
}

void deposit_paint(const struct deposit *deposit, struct image *image, struct vec3 *clean,
                   unsigned char *mask)
{
  size_t n = pixels_of(deposit);
  struct canvas canvas = {.deposit = deposit,
                          .random = random_start(deposit->seed),
                          .linear = malloc(n * sizeof(struct vec3)),
                          .mask = calloc(n, 1)};

  *image = (struct image){.width = deposit->width, .height = deposit->height, .bits = deposit->bits};
  image->codes = malloc(3 * n * (deposit->bits == 8 ? 1 : 2));
  fill_deposit(&canvas, clean);
  while (deposit->dirt != DIRT_NONE && (double)canvas.dirty < deposit->share * (double)n) {
    enum deposit_dirt dirt = deposit->dirt;
    if (dirt == DIRT_ALL) {
      dirt = (enum deposit_dirt)(DIRT_PEBBLES + random_below(&canvas.random, DIRT_ALL - DIRT_PEBBLES));
    }
    add_dirt(&canvas, dirt);
  }
  expose(&canvas, image);
  if (deposit->jpeg) {
    coarsen_chroma(image);
  }
  for (size_t i = 0; mask && i < n; i++) {
    mask[i] = canvas.mask[i];
  }
  free(canvas.linear);
  free(canvas.mask);
}
