/* SPDX-License-Identifier: MIT */
#include "truth.h"

#include <math.h>
#include <string.h>

#include "camera.h"
#include "colour/difference.h"
#include "made.h"

/* What a grey surface sends to eye and camera under direct and sky light of weight 1. */
struct response {
  struct vec3 direct, sky;
};

static struct response grey_response(const struct scene *scene)
{
  struct spectrum direct = camera_light_scaled(&scene->light.direct),
                  sky = camera_light_scaled(&scene->light.sky);
  struct spectrum white = made_flat(1);

  return (struct response){camera_response(scene->camera.sensitivity, &white, &direct),
                           camera_response(scene->camera.sensitivity, &white, &sky)};
}

static struct vec3 camera_light(struct response response, struct scene_weights weights)
{
  return vec3_add(vec3_scale(response.direct, weights.direct), vec3_scale(response.sky, weights.sky));
}

static void region_bounds(const struct scene *scene, const struct scene_region *region, int box[4])
{
  double left = scene->width, top = scene->height, right = 0, bottom = 0;

  for (int i = 0; i < region->vertices; i++) {
    left = fmin(left, region->vertex[i].x - region->radius);
    right = fmax(right, region->vertex[i].x + region->radius);
    top = fmin(top, region->vertex[i].y - region->radius);
    bottom = fmax(bottom, region->vertex[i].y + region->radius);
  }
  box[0] = (int)fmax(left, 0);
  box[1] = (int)fmax(top, 0);
  box[2] = (int)fmin(right + 1, scene->width);
  box[3] = (int)fmin(bottom + 1, scene->height);
}

static enum truth_light light_of_shade(double least, double most)
{
  return most < 0.05 ? TRUTH_LIT : least > 0.95 ? TRUTH_SHADED : TRUTH_EDGE;
}

/* Means of the light over the region. */
static void add_light(const struct scene *scene, struct response grey, struct truth_region *truth)
{
  struct vec3 sum = {{0, 0, 0}};
  double luminance = 0, least = 1, most = 0;
  int box[4];

  region_bounds(scene, truth->region, box);
  for (int y = box[1]; y < box[3]; y++) {
    for (int x = box[0]; x < box[2]; x++) {
      struct point place = {x + 0.5, y + 0.5};
      if (!scene_region_contains(truth->region, place)) {
        continue;
      }
      struct scene_weights weights = scene_weights_at(scene, place);
      sum = vec3_add(sum, camera_light(grey, weights));
      luminance += weights.direct + weights.sky;
      least = fmin(least, weights.shade);
      most = fmax(most, weights.shade);
      truth->pixels++;
    }
  }
  truth->camera_gain = vec3_scale(sum, 1 / fmax((double)truth->pixels, 1));
  truth->gain = luminance / fmax((double)truth->pixels, 1);
  truth->light = light_of_shade(least, most);
}

static void add_region(const struct scene *scene, struct response grey, const struct scene_region *region,
                       struct truth *truth)
{
  struct truth_region *at = &truth->region[truth->regions++];
  struct spectrum d50 = spectrum_of_illuminant(ILLUMINANT_D50), c = spectrum_of_illuminant(ILLUMINANT_C);
  const struct spectrum *reflectance = &scene->deposit[region->deposit].reflectance;

  at->region = region;
  at->xyz_d50 = spectrum_xyz(reflectance, &d50);
  at->xyz_c = spectrum_xyz(reflectance, &c);
  at->lab_d50 = colour_lab_from_xyz(at->xyz_d50, COLOUR_WHITE_D50);
  add_light(scene, grey, at);
  if (truth->card) {
    struct scene_weights card = scene_weights_at(scene, scene->card.centre);
    at->gain /= card.direct + card.sky;
    at->camera_gain = vec3_divide(at->camera_gain, camera_light(grey, card));
  }
}

static void add_card(const struct scene *scene, struct truth *truth)
{
  const struct chart_geometry *geometry = &scene->card.geometry;
  struct mat3 plane = scene_card_plane(scene);
  int last = geometry->columns * geometry->rows - 1;
  const int corner[4] = {0, geometry->columns - 1, last, last - geometry->columns + 1};
  double least = 1, most = 0;

  truth->patches = last + 1;
  for (int i = 0; i <= last; i++) {
    struct point mm = scene_patch_mm(geometry, i);
    truth->patch[i] = scene_project(plane, mm.x, mm.y);
    double shade = scene_weights_at(scene, truth->patch[i]).shade;
    least = fmin(least, shade);
    most = fmax(most, shade);
  }
  for (int k = 0; k < 4; k++) {
    truth->corner[k] = truth->patch[corner[k]];
  }
  truth->card_light = light_of_shade(least, most);
}

void truth_of_scene(const struct scene *scene, struct truth *truth)
{
  struct response grey = grey_response(scene);

  memset(truth, 0, sizeof *truth);
  truth->card = scene->card.present;
  if (truth->card) {
    add_card(scene, truth);
  }
  for (int i = 0; i < scene->regions; i++) {
    add_region(scene, grey, &scene->region[i], truth);
  }
}

static void add_points(const struct scene_region *region, struct text *out)
{
  const struct point *v = region->vertex;

  if (region->shape == REGION_RECTANGLE) {
    text_format(out, "rectangle,\"%.1f %.1f %.1f %.1f\"\n", v[0].x, v[0].y, v[1].x - v[0].x, v[1].y - v[0].y);
  } else if (region->shape == REGION_CIRCLE) {
    text_format(out, "circle,\"%.1f %.1f %.1f\"\n", v[0].x, v[0].y, region->radius);
  } else {
    text_add(out, "polygon,\"");
    for (int i = 0; i < region->vertices; i++) {
      text_format(out, "%s%.1f,%.1f", i ? " " : "", v[i].x, v[i].y);
    }
    text_add(out, "\"\n");
  }
}

static const char *moisture_word(enum region_moisture moisture)
{
  static const char *const words[] = {"", "dry", "moist", "wet"};

  return words[moisture];
}

void truth_regions_csv(const struct scene *scene, const char *photo, bool header, struct text *out)
{
  if (header) {
    text_add(out, "photo,region,context,find,zone,role,moisture,shape,points\n");
  }
  for (int i = 0; i < scene->regions; i++) {
    const struct scene_region *region = &scene->region[i];
    const struct scene_deposit *deposit = &scene->deposit[region->deposit];
    text_format(out, "%s,%s,%s,%s,%s,%s,%s,", photo, region->label, deposit->context, deposit->find,
                deposit->zone, deposit->role, moisture_word(deposit->moisture));
    add_points(region, out);
  }
}

void truth_csv(const struct truth *truth, const char *photo, bool header, struct text *out)
{
  static const char *const light[] = {"lit", "shaded", "edge"};

  if (header) {
    text_add(out, "photo,region,X_d50,Y_d50,Z_d50,L,a,b,X_c,Y_c,Z_c,light_gain,gain_r,gain_g,gain_b,light\n");
  }
  for (int k = 0; truth->card && k < 4; k++) {
    text_format(out, "%s,card-%d,%.2f,%.2f,,,,,,,,1,1,1,1,%s\n", photo, k + 1, truth->corner[k].x,
                truth->corner[k].y, light[truth->card_light]);
  }
  for (int i = 0; i < truth->regions; i++) {
    const struct truth_region *r = &truth->region[i];
    text_format(out, "%s,%s,%.4f,%.4f,%.4f,%.3f,%.3f,%.3f,%.4f,%.4f,%.4f,%.4f,%.4f,%.4f,%.4f,%s\n", photo,
                r->region->label, r->xyz_d50.X, r->xyz_d50.Y, r->xyz_d50.Z, r->lab_d50.L, r->lab_d50.a,
                r->lab_d50.b, r->xyz_c.X, r->xyz_c.Y, r->xyz_c.Z, r->gain, r->camera_gain.v[0],
                r->camera_gain.v[1], r->camera_gain.v[2], light[r->light]);
  }
}

static struct point on_card(const struct mat3 *back, struct point place)
{
  return scene_project(*back, place.x, place.y);
}

/* Thickness in mm: the distance of the two lines along the boundary, half its thickness before and behind it. */
static double thickness_mm(const struct scene_boundary *b, const struct mat3 *back)
{
  double angle = b->degrees * 3.14159265358979 / 180, c = cos(angle), s = sin(angle), half = b->thick / 2;
  struct point before = on_card(back, (struct point){b->place.x - half * c, b->place.y - half * s});
  struct point behind = on_card(back, (struct point){b->place.x + half * c, b->place.y + half * s});
  struct point one = on_card(back, b->place),
               other = on_card(back, (struct point){b->place.x - 10 * s, b->place.y + 10 * c});
  double dx = other.x - one.x, dy = other.y - one.y;

  return fabs((behind.x - before.x) * dy - (behind.y - before.y) * dx) / hypot(dx, dy);
}

void truth_edge_csv(const struct scene *scene, const char *photo, bool header, struct text *out)
{
  const struct scene_line *line = &scene->line;
  const struct scene_boundary *b = &scene->boundary;
  struct spectrum d50 = spectrum_of_illuminant(ILLUMINANT_D50);
  struct mat3 back = mat3_identity();

  mat3_invert(scene_card_plane(scene), &back);
  if (header) {
    text_add(out, "photo,x1,y1,x2,y2,place_px,place_mm,thick_px,thick_mm,de00\n");
  }
  text_format(out, "%s,%.2f,%.2f,%.2f,%.2f,", photo, line->from.x, line->from.y, line->to.x, line->to.y);
  if (!b->present) {
    text_add(out, ",,,,\n");
    return;
  }
  struct point start = on_card(&back, line->from), at = on_card(&back, b->place);
  struct lab first =
      colour_lab_from_xyz(spectrum_xyz(&scene->deposit[b->first].reflectance, &d50), COLOUR_WHITE_D50);
  struct lab second =
      colour_lab_from_xyz(spectrum_xyz(&scene->deposit[b->second].reflectance, &d50), COLOUR_WHITE_D50);
  text_format(out, "%.3f,%.3f,%.3f,%.3f,%.3f\n", hypot(b->place.x - line->from.x, b->place.y - line->from.y),
              hypot(at.x - start.x, at.y - start.y), b->thick, thickness_mm(b, &back),
              colour_de00(first, second));
}
