/* SPDX-License-Identifier: MIT */
/* Scenes for edges: one deposit or two, and a line drawn across. Card, light and camera are those of the field scene of the same seed. */
#include <math.h>
#include <stdio.h>

#include "colour/difference.h"
#include "made.h"
#include "section.h"

enum { TRIES = 400, EDGE_STREAM = 0x65646765 };

/* CIEDE2000 between the deposits; centimetres of the thickest boundary. */
static const double APART = 2.0, THICKEST_CM = 15, THINNEST_CM = 0.15;

static const double PI = 3.14159265358979;

static void add_deposit(struct scene *scene, const struct spectra_source *source, enum region_moisture state,
                        struct random *random)
{
  struct scene_deposit *deposit = &scene->deposit[scene->deposits++];

  *deposit = (struct scene_deposit){.moisture = state};
  deposit->reflectance = source_soil(source, random, state);
  deposit->texture = section_texture(state, random);
  snprintf(deposit->context, sizeof deposit->context, "%d", 1000 + scene->deposits);
}

/* Two soils by chance until they are far enough apart. */
static void random_deposits(struct scene *scene, const struct spectra_source *source, bool boundary,
                            struct random *random)
{
  const enum region_moisture states[3] = {MOISTURE_DRY, MOISTURE_MOIST, MOISTURE_WET};
  enum region_moisture state = states[random_below(random, 3)];

  scene->deposits = 0;
  add_deposit(scene, source, state, random);
  section_outline_layer(scene, &scene->deposit[0], 0, 0);
  for (int i = 0; boundary && i < TRIES; i++) {
    scene->deposits = 1;
    add_deposit(scene, source, state, random);
    if (colour_de00(made_lab(&scene->deposit[0].reflectance), made_lab(&scene->deposit[1].reflectance)) >=
        APART) {
      return;
    }
  }
}

static double distance_to_line(struct point p, const struct scene_line *line)
{
  double dx = line->to.x - line->from.x, dy = line->to.y - line->from.y;
  double t = ((p.x - line->from.x) * dx + (p.y - line->from.y) * dy) / (dx * dx + dy * dy);

  t = fmin(fmax(t, 0), 1);
  return hypot(p.x - line->from.x - t * dx, p.y - line->from.y - t * dy);
}

static bool inside(const struct scene *scene, struct point p, double margin)
{
  return p.x > margin && p.y > margin && p.x < scene->width - margin && p.y < scene->height - margin;
}

/* A line that keeps a tenth of its length clear to either side. */
static bool random_line(struct scene *scene, struct random *random)
{
  struct point size = scene_card_size_mm(&scene->card.geometry);
  double card = 0.55 * hypot(size.x, size.y) / scene->card.mm_per_pixel;

  for (int i = 0; i < TRIES; i++) {
    double length = scene->width * random_between(random, 0.25, 0.6),
           angle = random_between(random, 0, 2 * PI);
    struct point from = {random_between(random, 0, scene->width), random_between(random, 0, scene->height)};
    scene->line = (struct scene_line){from, {from.x + length * cos(angle), from.y + length * sin(angle)}};
    if (inside(scene, scene->line.from, 0.1 * length) && inside(scene, scene->line.to, 0.1 * length) &&
        distance_to_line(scene->card.centre, &scene->line) > card + 0.1 * length) {
      return true;
    }
  }
  return false;
}

/* The half of the frame, and more, beyond the boundary. */
static void outline_beyond(const struct scene *scene, struct scene_deposit *deposit)
{
  const struct scene_boundary *b = &scene->boundary;
  double far = 4.0 * scene->width, c = cos(b->degrees * PI / 180), s = sin(b->degrees * PI / 180);

  deposit->vertices = 4;
  deposit->vertex[0] = (struct point){b->place.x - far * s, b->place.y + far * c};
  deposit->vertex[1] = (struct point){b->place.x + far * s, b->place.y - far * c};
  deposit->vertex[2] = (struct point){deposit->vertex[1].x + far * c, deposit->vertex[1].y + far * s};
  deposit->vertex[3] = (struct point){deposit->vertex[0].x + far * c, deposit->vertex[0].y + far * s};
}

/* One in ten a clean cut, else even in the logarithm of the thickness, which half the line must hold. */
static void random_boundary(struct scene *scene, struct random *random)
{
  const struct scene_line *line = &scene->line;
  double dx = line->to.x - line->from.x, dy = line->to.y - line->from.y,
         share = random_between(random, 0.3, 0.7);
  double most = fmin(log(THICKEST_CM), log(0.05 * scene->card.mm_per_pixel * hypot(dx, dy)));
  double cm = random_unit(random) < 0.1 ? 0 : exp(random_between(random, log(THINNEST_CM), most));

  scene->boundary = (struct scene_boundary){.present = true, .first = 0, .second = 1};
  scene->boundary.place = (struct point){line->from.x + share * dx, line->from.y + share * dy};
  scene->boundary.degrees = atan2(dy, dx) * 180 / PI + random_between(random, -40, 40);
  scene->boundary.thick = 10 * cm / scene->card.mm_per_pixel;
  outline_beyond(scene, &scene->deposit[1]);
}

void scene_random_edge(bool boundary, uint64_t seed, const struct spectra_source *source, struct scene *scene)
{
  struct random random = random_start(seed ^ EDGE_STREAM);

  /* a card that leaves no room for a line is moved by drawing another field scene */
  for (uint64_t turn = 0; turn < 20; turn++) {
    scene_random(SCENE_FIELD, seed + 1000000 * turn, source, scene);
    if (random_line(scene, &random)) {
      break;
    }
  }
  scene->regions = 0;
  random_deposits(scene, source, boundary, &random);
  if (boundary) {
    random_boundary(scene, &random);
  }
}
