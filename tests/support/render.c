/* SPDX-License-Identifier: MIT */
#include "render.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "camera.h"
#include "made.h"
#include "texture.h"

enum {
  MATERIALS = 256,
  FRAME = TEXTURE_INCLUSION + TEXTURE_KINDS,
  PATCH = FRAME + 1, /* and following */
  FINE = 4,          /* samples a side of a pixel that holds an edge of the card */
  NORMALS = 1 << 16
};

/* Raw signal of a material under both lights at weight 1, and how that changes with mottle. */
struct material {
  struct vec3 direct, sky, direct_mottle, sky_mottle;
};

struct canvas {
  const struct scene *scene;
  struct material material[MATERIALS];
  struct vec3 white; /* raw signal of a mirrored direct light                       */
  uint8_t *map;      /* ids of deposits and inclusions                              */
  float *raw;        /* R G B a pixel                                               */
  struct mat3 plane; /* mm on the card to pixels                                    */
  struct mat3 back;
  int left, top, right, bottom; /* of the card in the picture; empty where right <= left */
  struct random glint;
};

/* The reflectance times log(red / blue) per unit of mottle: 1 from 450 to 610 nm. */
static struct spectrum mottled(const struct spectrum *reflectance)
{
  struct spectrum tilted;

  for (int i = 0; i < SPECTRUM_BANDS; i++) {
    tilted.band[i] = reflectance->band[i] * (380 + 5 * i - 530) / 160;
  }
  return tilted;
}

static struct material make_material(const struct scene *scene, const struct spectrum *reflectance)
{
  const struct spectrum *sensitivity = scene->camera.sensitivity;
  struct spectrum direct = camera_light_scaled(&scene->light.direct),
                  sky = camera_light_scaled(&scene->light.sky);
  struct spectrum tilted = mottled(reflectance), white = made_flat(1);
  double scale = scene->camera.exposure / camera_response(sensitivity, &white, &direct).v[1];

  return (struct material){vec3_scale(camera_response(sensitivity, reflectance, &direct), scale),
                           vec3_scale(camera_response(sensitivity, reflectance, &sky), scale),
                           vec3_scale(camera_response(sensitivity, &tilted, &direct), scale),
                           vec3_scale(camera_response(sensitivity, &tilted, &sky), scale)};
}

static void make_materials(struct canvas *canvas)
{
  const struct scene *scene = canvas->scene;
  struct random random = random_start(scene->seed ^ 0x6b696e6473u);
  struct spectrum white = made_flat(1);
  int patches = scene->card.geometry.columns * scene->card.geometry.rows;

  for (int i = 0; i < scene->deposits; i++) {
    canvas->material[i] = make_material(scene, &scene->deposit[i].reflectance);
  }
  for (int i = 0; i < TEXTURE_KINDS; i++) {
    struct spectrum stone = made_inclusion(&random);
    canvas->material[TEXTURE_INCLUSION + i] = make_material(scene, &stone);
  }
  canvas->material[FRAME] = make_material(scene, &scene->card.frame);
  for (int i = 0; scene->card.present && i < patches; i++) {
    canvas->material[PATCH + i] = make_material(scene, &scene->card.patch[i]);
  }
  canvas->white = make_material(scene, &white).direct;
}

static struct vec3 lit(const struct material *material, struct scene_weights weights,
                       struct texture_value texture)
{
  struct vec3 direct = vec3_add(material->direct, vec3_scale(material->direct_mottle, texture.mottle));
  struct vec3 sky = vec3_add(material->sky, vec3_scale(material->sky_mottle, texture.mottle));
  struct vec3 both = vec3_add(vec3_scale(direct, weights.direct), vec3_scale(sky, weights.sky));

  return vec3_scale(both, exp(texture.level));
}

/* Where the texture's factor has a mean of 1, as the truth is the mean reflectance: log factor - variance / 2. */
static struct vec3 textured(const struct canvas *canvas, int id, struct point place,
                            struct scene_weights weights)
{
  const struct scene *scene = canvas->scene;
  const struct scene_texture *own = &scene->deposit[id < TEXTURE_INCLUSION ? id : 0].texture;
  struct texture_value texture = texture_at(own, place.x, place.y, scene->seed + 100 * (uint64_t)id);

  texture.level -= own->size * own->size / 2;
  return lit(&canvas->material[id], weights, texture);
}

static struct vec3 face_signal(struct canvas *canvas, int x, int y)
{
  const struct scene *scene = canvas->scene;
  const struct scene_boundary *boundary = &scene->boundary;
  int id = canvas->map[(size_t)y * (size_t)scene->width + (size_t)x];
  struct point place = {x + 0.5, y + 0.5};
  struct scene_weights weights = scene_weights_at(scene, place);
  const struct scene_texture *own = &scene->deposit[id < TEXTURE_INCLUSION ? id : 0].texture;
  struct vec3 signal;

  if (boundary->present && id < TEXTURE_INCLUSION) {
    double share = scene_boundary_share(boundary, place);
    struct vec3 first = textured(canvas, boundary->first, place, weights);
    struct vec3 second = textured(canvas, boundary->second, place, weights);
    signal = vec3_add(vec3_scale(first, 1 - share), vec3_scale(second, share));
  } else {
    signal = textured(canvas, id, place, weights);
  }
  if (id < TEXTURE_INCLUSION && own->glint > 0 && random_unit(&canvas->glint) < own->glint) {
    double share = random_between(&canvas->glint, 0.3, 2);
    signal = vec3_add(signal, vec3_scale(canvas->white, weights.direct * share));
  }
  return signal;
}

/* Material of the card at a place; -1 beside it. */
static int card_material(const struct canvas *canvas, double x, double y, struct point *mm)
{
  const struct chart_geometry *geometry = &canvas->scene->card.geometry;
  double pitch = geometry->patch_mm + geometry->gap_mm;
  double across = geometry->columns * pitch - geometry->gap_mm,
         down = geometry->rows * pitch - geometry->gap_mm;

  *mm = scene_project(canvas->back, x, y);
  if (mm->x < -geometry->border_mm || mm->y < -geometry->border_mm || mm->x > across + geometry->border_mm ||
      mm->y > down + geometry->border_mm) {
    return -1;
  }
  if (mm->x < 0 || mm->y < 0 || mm->x > across || mm->y > down) {
    return FRAME;
  }
  int column = (int)(mm->x / pitch), row = (int)(mm->y / pitch);
  bool inside = mm->x - column * pitch <= geometry->patch_mm && mm->y - row * pitch <= geometry->patch_mm;
  return inside ? PATCH + row * geometry->columns + column : FRAME;
}

static struct vec3 card_signal(const struct canvas *canvas, int material, struct point place, struct point mm)
{
  const struct scene_card *card = &canvas->scene->card;
  struct scene_weights weights = scene_weights_at(canvas->scene, place);
  struct vec3 signal = lit(&canvas->material[material], weights, (struct texture_value){0, 0});

  if (material >= PATCH && card->glare[material - PATCH] > 0) {
    struct point centre = scene_patch_mm(&card->geometry, material - PATCH);
    double dx = (mm.x - centre.x) / card->geometry.patch_mm, dy = (mm.y - centre.y) / card->geometry.patch_mm;
    double share = card->glare[material - PATCH] * exp(-2 * (dx * dx + dy * dy));
    signal = vec3_add(signal, vec3_scale(canvas->white, weights.direct * share));
  }
  return signal;
}

/* The card over the face at one pixel; more samples where its corners see different materials. */
static struct vec3 card_pixel(const struct canvas *canvas, int x, int y, struct vec3 face)
{
  struct point mm;
  int first = card_material(canvas, x, y, &mm);
  bool whole = first == card_material(canvas, x + 1, y, &mm) &&
               first == card_material(canvas, x, y + 1, &mm) &&
               first == card_material(canvas, x + 1, y + 1, &mm);
  int side = whole ? 1 : FINE;
  struct vec3 sum = {{0, 0, 0}};

  for (int i = 0; i < side * side; i++) {
    struct point place = {x + (i % side + 0.5) / side, y + (i / side + 0.5) / side};
    int material = card_material(canvas, place.x, place.y, &mm);
    sum = vec3_add(sum, material < 0 ? face : card_signal(canvas, material, place, mm));
  }
  return vec3_scale(sum, 1.0 / (side * side));
}

static void bound_card(struct canvas *canvas)
{
  const struct scene *scene = canvas->scene;
  struct point size = scene_card_size_mm(&scene->card.geometry);
  double border = scene->card.geometry.border_mm;
  double left = scene->width, right = 0, top = scene->height, bottom = 0;

  canvas->plane = scene_card_plane(scene);
  if (!scene->card.present || !mat3_invert(canvas->plane, &canvas->back)) {
    return;
  }
  for (int k = 0; k < 4; k++) {
    struct point p =
        scene_project(canvas->plane, (k & 1 ? size.x : 0) - border, (k & 2 ? size.y : 0) - border);
    left = fmin(left, p.x - 1);
    right = fmax(right, p.x + 2);
    top = fmin(top, p.y - 1);
    bottom = fmax(bottom, p.y + 2);
  }
  canvas->left = (int)fmax(left, 0);
  canvas->top = (int)fmax(top, 0);
  canvas->right = (int)fmin(right, scene->width);
  canvas->bottom = (int)fmin(bottom, scene->height);
}

static void expose(struct canvas *canvas)
{
  const struct scene *scene = canvas->scene;

  for (int y = 0; y < scene->height; y++) {
    float *at = canvas->raw + 3 * (size_t)y * (size_t)scene->width;
    bool card_row = y >= canvas->top && y < canvas->bottom;
    for (int x = 0; x < scene->width; x++, at += 3) {
      struct vec3 signal = face_signal(canvas, x, y);
      if (card_row && x >= canvas->left && x < canvas->right) {
        signal = card_pixel(canvas, x, y, signal);
      }
      for (int k = 0; k < 3; k++) {
        at[k] = (float)signal.v[k];
      }
    }
  }
}

/* Convolves lines of `count` pixels, `stride` floats apart, with a Gaussian; ends held. */
static void blur_line(float *line, int count, size_t stride, const double *weight, int reach, float *copy)
{
  for (int i = 0; i < count; i++) {
    memcpy(copy + 3 * i, line + (size_t)i * stride, 3 * sizeof *copy);
  }
  for (int i = 0; i < count; i++) {
    double sum[3] = {0};
    for (int j = -reach; j <= reach; j++) {
      int from = i + j < 0 ? 0 : i + j >= count ? count - 1 : i + j;
      for (int k = 0; k < 3; k++) {
        sum[k] += weight[abs(j)] * (double)copy[3 * from + k];
      }
    }
    for (int k = 0; k < 3; k++) {
      line[(size_t)i * stride + (size_t)k] = (float)sum[k];
    }
  }
}

static void blur(const struct scene *scene, float *raw, float *copy)
{
  enum { REACH_MAX = 64 };
  double sigma = scene->camera.blur, weight[REACH_MAX + 1], sum = 0;
  int reach = (int)fmin(ceil(3.5 * sigma), REACH_MAX);
  size_t row = 3 * (size_t)scene->width;

  for (int j = 0; j <= reach; j++) {
    weight[j] = exp(-0.5 * j * j / (sigma * sigma));
    sum += j ? 2 * weight[j] : weight[j];
  }
  for (int j = 0; j <= reach; j++) {
    weight[j] /= sum;
  }
  for (int y = 0; y < scene->height; y++) {
    blur_line(raw + (size_t)y * row, scene->width, 3, weight, reach, copy);
  }
  for (int x = 0; x < scene->width; x++) {
    blur_line(raw + 3 * x, scene->height, row, weight, reach, copy);
  }
}

static void add_veil(const struct scene *scene, float *raw)
{
  size_t pixels = (size_t)scene->width * (size_t)scene->height;
  double mean[3] = {0};

  for (size_t i = 0; i < 3 * pixels; i++) {
    mean[i % 3] += (double)raw[i];
  }
  for (size_t i = 0; i < 3 * pixels; i++) {
    raw[i] += (float)(scene->camera.veil * mean[i % 3] / (double)pixels);
  }
}

/* Noise by look-up: numbers from a fixed stock of normal ones, picked by chance. */
static void add_noise(const struct scene *scene, float *raw, float *stock)
{
  struct random random = random_start(scene->seed ^ 0x6e6f697365u);
  double read2 = scene->camera.read_noise * scene->camera.read_noise, shot = scene->camera.shot_noise;
  uint64_t bits = 0;

  for (int i = 0; i < NORMALS; i++) {
    stock[i] = (float)random_normal(&random);
  }
  for (size_t i = 0; i < 3 * (size_t)scene->width * (size_t)scene->height; i++) {
    bits = i % 4 ? bits >> 16 : random_bits(&random);
    double size = sqrt(read2 + shot * fmax((double)raw[i], 0));
    raw[i] = (float)fmin((double)raw[i] + size * (double)stock[bits & (NORMALS - 1)], 1);
  }
}

static void develop(const struct scene *scene, const float *raw, uint8_t *rgb)
{
  enum { STEPS = 8192 };
  uint8_t code[STEPS + 1];

  for (int i = 0; i <= STEPS; i++) {
    code[i] = (uint8_t)lround(255 * camera_tone(&scene->camera, (double)i / STEPS));
  }
  for (size_t i = 0; i < (size_t)scene->width * (size_t)scene->height; i++) {
    struct vec3 signal = {{(double)raw[3 * i], (double)raw[3 * i + 1], (double)raw[3 * i + 2]}};
    struct vec3 linear = camera_linear(&scene->camera, signal);
    for (int k = 0; k < 3; k++) {
      rgb[3 * i + (size_t)k] = code[(int)(fmin(fmax(linear.v[k], 0), 1) * STEPS + 0.5)];
    }
  }
}

static void paint(struct canvas *canvas, float *work, uint8_t *rgb)
{
  const struct scene *scene = canvas->scene;

  make_materials(canvas);
  bound_card(canvas);
  texture_paint_deposits(scene, canvas->map);
  texture_paint_inclusions(scene, canvas->map);
  expose(canvas);
  if (scene->camera.blur > 0) {
    blur(scene, canvas->raw, work);
  }
  add_veil(scene, canvas->raw);
  add_noise(scene, canvas->raw, work);
  develop(scene, canvas->raw, rgb);
}

bool render_picture(const struct scene *scene, struct picture *picture, struct error *error)
{
  size_t pixels = (size_t)scene->width * (size_t)scene->height;
  size_t longest = (size_t)(scene->width > scene->height ? scene->width : scene->height);
  struct canvas *canvas = calloc(1, sizeof *canvas);
  uint8_t *map = malloc(pixels);
  float *raw = malloc(3 * pixels * sizeof *raw), *work = malloc((3 * longest + NORMALS) * sizeof *work);

  *picture = (struct picture){scene->width, scene->height, malloc(3 * pixels)};
  bool done = canvas && map && raw && work && picture->rgb;
  if (done) {
    canvas->scene = scene;
    canvas->map = map;
    canvas->raw = raw;
    canvas->glint = random_start(scene->seed ^ 0x676c696e74u);
    paint(canvas, work, picture->rgb);
  } else {
    picture_clear(picture);
    error_no_memory(error, "the picture");
  }
  free(canvas);
  free(map);
  free(raw);
  free(work);
  return done;
}

void picture_clear(struct picture *picture)
{
  free(picture->rgb);
  *picture = (struct picture){0};
}

bool render_file(const struct scene *scene, struct file_bytes *file, struct error *error)
{
  struct picture picture;

  if (!render_picture(scene, &picture, error)) {
    return false;
  }
  bool done = picture_file(&picture, &scene->file, file, error);
  picture_clear(&picture);
  return done;
}
