/* SPDX-License-Identifier: MIT */
#include "scene.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "camera.h"
#include "colour/difference.h"
#include "made.h"

const struct chart_geometry CHART24_GEOMETRY = {6, 4, 40, 5.5, 16};

static const double RADIANS = 3.14159265358979323846 / 180;

void scene_plain(struct scene *scene, int width, int height, uint64_t seed)
{
  struct random random = random_start(seed);
  struct scene_deposit *ground = &scene->deposit[0];

  memset(scene, 0, sizeof *scene);
  scene->width = width;
  scene->height = height;
  scene->focal_pixels = 1.2 * width;
  scene->seed = seed;
  scene->deposits = 1;
  ground->vertices = 4;
  ground->vertex[1] = (struct point){width, 0};
  ground->vertex[2] = (struct point){width, height};
  ground->vertex[3] = (struct point){0, height};
  ground->reflectance = made_flat(0.18);
  ground->texture.grain = 2;
  scene->light.direct = spectrum_of_illuminant(ILLUMINANT_D65);
  scene->light.sky = spectrum_of_daylight(12000);
  made_camera(&random, scene->camera.sensitivity);
  scene->camera.exposure = 0.85;
  camera_adjust(&scene->camera, &scene->light.direct);
  scene->file.orientation = 1;
  scene->file.camera = "Rendered";
}

/* A deviation of the asked size in CIEDE2000, to first order: scale a trial one. */
static struct spectrum deviated(const struct spectrum *patch, double differs, struct random *random)
{
  const double trial = 0.02;
  struct random same = *random;
  struct spectrum light = spectrum_of_illuminant(ILLUMINANT_D50);
  struct spectrum moved = made_deviation(patch, trial, random);
  double step = colour_de00(colour_lab_from_xyz(spectrum_xyz(patch, &light), COLOUR_WHITE_D50),
                            colour_lab_from_xyz(spectrum_xyz(&moved, &light), COLOUR_WHITE_D50));

  /* sizes of a three-dimensional normal variable: mean square 1 */
  double wanted =
      differs *
      sqrt((pow(random_normal(random), 2) + pow(random_normal(random), 2) + pow(random_normal(random), 2)) /
           3);
  return made_deviation(patch, trial * fmin(wanted / fmax(step, 1e-3), 10), &same);
}

void scene_card_chart24(struct scene *scene, const struct spectrum patch[CHART24_PATCHES], double differs)
{
  struct random random = random_start(scene->seed ^ 0x6361726473u);

  scene->card.present = true;
  scene->card.geometry = CHART24_GEOMETRY;
  scene->card.frame = made_flat(0.035);
  for (int i = 0; i < CHART24_PATCHES; i++) {
    scene->card.patch[i] = differs > 0 ? deviated(&patch[i], differs, &random) : patch[i];
  }
}

struct point scene_patch_mm(const struct chart_geometry *geometry, int patch)
{
  double pitch = geometry->patch_mm + geometry->gap_mm;

  return (struct point){geometry->patch_mm / 2 + pitch * (patch % geometry->columns),
                        geometry->patch_mm / 2 + pitch * (patch / geometry->columns)};
}

struct point scene_card_size_mm(const struct chart_geometry *geometry)
{
  double pitch = geometry->patch_mm + geometry->gap_mm, edge = 2 * geometry->border_mm - geometry->gap_mm;

  return (struct point){geometry->columns * pitch + edge, geometry->rows * pitch + edge};
}

static struct mat3 turn(double degrees)
{
  double c = cos(degrees * RADIANS), s = sin(degrees * RADIANS);

  return (struct mat3){{{c, -s, 0}, {s, c, 0}, {0, 0, 1}}};
}

/* Rotation by `degrees` about the axis in the picture plane that is square to `direction`. */
static struct mat3 lean(double degrees, double direction)
{
  double c = cos(degrees * RADIANS), s = sin(degrees * RADIANS);
  struct mat3 tip = {{{c, 0, s}, {0, 1, 0}, {-s, 0, c}}};

  return mat3_congruence(turn(direction), tip);
}

/* Pinhole camera: K [r1 r2 t] with r1, r2 the card's axes in space and t the ray to its centre, far enough away for the
 * scale. */
struct mat3 scene_card_plane(const struct scene *scene)
{
  const struct scene_card *card = &scene->card;
  double f = scene->focal_pixels, cx = scene->width / 2.0, cy = scene->height / 2.0;
  double distance = f * card->mm_per_pixel;
  struct point size = scene_card_size_mm(&card->geometry);
  double border = card->geometry.border_mm, side = card->mirrored ? -1 : 1;
  struct mat3 rotation =
      mat3_multiply(lean(card->tilt_degrees, card->tilt_direction_degrees), turn(card->rotation_degrees));
  struct mat3 axes = {{{side * rotation.m[0][0], rotation.m[0][1], distance * (card->centre.x - cx) / f},
                       {side * rotation.m[1][0], rotation.m[1][1], distance * (card->centre.y - cy) / f},
                       {side * rotation.m[2][0], rotation.m[2][1], distance}}};
  struct mat3 lens = {{{f, 0, cx}, {0, f, cy}, {0, 0, 1}}};
  struct mat3 centred = {{{1, 0, border - size.x / 2}, {0, 1, border - size.y / 2}, {0, 0, 1}}};

  return mat3_multiply(lens, mat3_multiply(axes, centred));
}

struct point scene_project(struct mat3 plane, double x_mm, double y_mm)
{
  struct vec3 place = mat3_apply(plane, (struct vec3){{x_mm, y_mm, 1}});

  return (struct point){place.v[0] / place.v[2], place.v[1] / place.v[2]};
}

static double shade_at(const struct scene_light *light, struct point place)
{
  double shade = light->edges ? 1 : 0;

  for (int i = 0; i < light->edges; i++) {
    const struct scene_edge *edge = &light->edge[i];
    double angle = edge->degrees * RADIANS;
    double beyond = (place.x - edge->place.x) * cos(angle) + (place.y - edge->place.y) * sin(angle);
    shade = fmin(shade, 0.5 + 0.5 * erf(beyond / (edge->softness / 2 * sqrt(2))));
  }
  return shade;
}

struct scene_weights scene_weights_at(const struct scene *scene, struct point place)
{
  const struct scene_light *light = &scene->light;
  double half = hypot(scene->width, scene->height) / 2;
  double u = (place.x - scene->width / 2.0) / half, v = (place.y - scene->height / 2.0) / half;
  double square = u * u + v * v, fall = 1 + light->vignette * light->vignette * square;
  double lens = 1 / (fall * fall), shade = shade_at(light, place);
  double direct = exp(light->gradient[0] * u + light->gradient[1] * v + light->bulge * square);
  double sky = exp(light->sky_gradient[0] * u + light->sky_gradient[1] * v);

  return (struct scene_weights){(1 - light->sky_share) * direct * lens * (1 - light->depth * shade),
                                light->sky_share * sky * lens, shade};
}

/* Even-odd rule. */
static bool polygon_contains(const struct point *vertex, int vertices, struct point place)
{
  bool inside = false;

  for (int i = 0, j = vertices - 1; i < vertices; j = i++) {
    if ((vertex[i].y > place.y) != (vertex[j].y > place.y) &&
        place.x < vertex[i].x +
                      (place.y - vertex[i].y) / (vertex[j].y - vertex[i].y) * (vertex[j].x - vertex[i].x)) {
      inside = !inside;
    }
  }
  return inside;
}

bool scene_region_contains(const struct scene_region *region, struct point place)
{
  const struct point *v = region->vertex;

  if (region->shape == REGION_CIRCLE) {
    return hypot(place.x - v[0].x, place.y - v[0].y) <= region->radius;
  }
  if (region->shape == REGION_RECTANGLE) {
    return place.x >= v[0].x && place.x <= v[1].x && place.y >= v[0].y && place.y <= v[1].y;
  }
  return polygon_contains(v, region->vertices, place);
}

double scene_boundary_share(const struct scene_boundary *boundary, struct point place)
{
  const double ten_to_ninety = 2.5631; /* standard deviations between the 10 and 90 % points */
  double angle = boundary->degrees * 3.14159265358979 / 180;
  double off = (place.x - boundary->place.x) * cos(angle) + (place.y - boundary->place.y) * sin(angle);
  double sigma = boundary->thick / ten_to_ninety;

  /* a clean cut through the pixel leaves about this share of its area behind */
  return sigma > 0.3 ? 0.5 * erfc(-off / (sigma * sqrt(2))) : fmin(fmax(off + 0.5, 0), 1);
}
