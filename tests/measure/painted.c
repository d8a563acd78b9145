/* SPDX-License-Identifier: MIT */
#include "painted.h"

#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "texture.h"

static const double ROUGH = 0.1, FINE = 0.06, SMOOTH = 0.012; /* standard deviations of log light */

/* Linear light R G B. */
static const double COLOUR[PAINTED_NOTHING][3] = {{0.22, 0.15, 0.09}, {0.46, 0.38, 0.28}, {0.2, 0.17, 0.14},
                                                  {0.03, 0.03, 0.03}, {0.8, 0.8, 0.8},    {0.05, 0.12, 0.4},
                                                  {0.55, 0.15, 0.12}};

static const struct point CORNER[4] = {{980, 60}, {1180, 60}, {1180, 180}, {980, 180}};

static void paint(struct painted *p, int x, int y, enum painted_colour colour, bool rough, bool thing)
{
  uint8_t *code = (uint8_t *)p->m.image.codes + 3 * ((size_t)y * PAINTED_WIDTH + (size_t)x);
  double log_light = rough ? ROUGH * texture_noise(x, y, 3, 71) + FINE * random_normal(&p->random)
                           : SMOOTH * random_normal(&p->random);

  p->thing[(size_t)y * PAINTED_WIDTH + (size_t)x] = thing;
  if (colour == PAINTED_NOTHING) {
    return;
  }
  for (int k = 0; k < 3; k++) {
    double linear = fmin(COLOUR[colour][k] * exp(log_light), 1);
    code[k] = p->code[(int)(linear * (PAINTED_LEVELS - 1) + 0.5)];
  }
}

void painted_begin(struct painted *p, uint64_t seed, bool one, bool wave)
{
  struct error error;

  memset(p, 0, sizeof *p);
  p->random = random_start(seed);
  snprintf(p->m.file, sizeof p->m.file, "face.png");
  p->m.image = (struct image){.width = PAINTED_WIDTH, .height = PAINTED_HEIGHT, .bits = 8};
  p->m.image.codes = calloc((size_t)PAINTED_WIDTH * PAINTED_HEIGHT, 3);
  p->thing = calloc((size_t)PAINTED_WIDTH * PAINTED_HEIGHT, 1);
  ck_assert(p->m.image.codes && p->thing);
  ck_assert_msg(encoding_of_image(&p->m.image, "none", &p->m.profile.encoding, &error), "%s", error.text);
  for (int i = 0; i < PAINTED_LEVELS; i++) {
    double linear = i / (PAINTED_LEVELS - 1.0);
    p->code[i] =
        (uint8_t)lround(255 * profile_code(&p->m.profile, (struct vec3){{linear, linear, linear}}).v[0]);
  }
  p->m.profile.matrix[0][0] = COLOUR_WHITE_D50.X;
  p->m.profile.matrix[1][1] = COLOUR_WHITE_D50.Y;
  p->m.profile.matrix[2][2] = COLOUR_WHITE_D50.Z;
  ck_assert_msg(card_list_open("chart24", &p->cards, &error), "%s", error.text);
  p->m.card = p->cards.card[0];
  ck_assert_msg(card_pose_from_corners(&p->m.card, CORNER, &p->m.pose, &error), "%s", error.text);
  for (int y = 0; y < PAINTED_HEIGHT; y++) {
    for (int x = 0; x < PAINTED_WIDTH; x++) {
      bool above = one || y < PAINTED_LAYER + (wave ? 14 * sin(x / 70.0) : 0);
      paint(p, x, y, above ? PAINTED_BROWN : PAINTED_PALE, true, false);
    }
  }
}

void painted_end(struct painted *p)
{
  image_blocks_clear(&p->blocks);
  card_list_clear(&p->cards);
  free(p->m.image.codes);
  free(p->thing);
}

void painted_box(struct painted *p, struct point at, double along, double across, double degrees,
                 enum painted_colour colour, bool rough, bool thing)
{
  double c = cos(degrees * 3.14159265358979 / 180), s = sin(degrees * 3.14159265358979 / 180);

  for (int y = 0; y < PAINTED_HEIGHT; y++) {
    for (int x = 0; x < PAINTED_WIDTH; x++) {
      double dx = x + 0.5 - at.x, dy = y + 0.5 - at.y;
      if (fabs(c * dx + s * dy) <= along / 2 && fabs(c * dy - s * dx) <= across / 2) {
        paint(p, x, y, colour, rough, thing);
      }
    }
  }
}

void painted_disc(struct painted *p, struct point at, double radius, enum painted_colour colour, bool rough,
                  bool thing)
{
  for (int y = 0; y < PAINTED_HEIGHT; y++) {
    for (int x = 0; x < PAINTED_WIDTH; x++) {
      if (hypot(x + 0.5 - at.x, y + 0.5 - at.y) <= radius) {
        paint(p, x, y, colour, rough, thing);
      }
    }
  }
}

void painted_finish(struct painted *p)
{
  struct card_patches none = {0};
  struct error error;

  ck_assert_msg(image_blocks_make(&p->m.image, 8, &p->blocks, &error), "%s", error.text);
  ck_assert_msg(light_estimate(&p->blocks, &p->m.profile, &p->m.card, &p->m.pose, &none, &p->m.light, &error),
                "%s", error.text);
}

void painted_divide(struct painted *p, struct division *division)
{
  struct error error;

  painted_finish(p);
  ck_assert_msg(division_make(&p->m.image, &p->blocks, &p->m.profile, &p->m.card, &p->m.pose, &p->m.light,
                              division, &error),
                "%s", error.text);
}

void painted_propose(struct painted *p, struct proposal *proposal)
{
  struct error error;

  painted_finish(p);
  ck_assert_msg(propose_deposits(&p->blocks, &p->m, proposal, &error), "%s", error.text);
}

double painted_inside(const struct painted *p, const struct proposal *proposal)
{
  double things = 0, inside = 0;

  for (int y = 0; y < PAINTED_HEIGHT; y += 2) {
    for (int x = 0; x < PAINTED_WIDTH; x++) {
      bool in = false;
      if (!p->thing[(size_t)y * PAINTED_WIDTH + (size_t)x]) {
        continue;
      }
      for (size_t i = 0; i < proposal->regions.count && !in; i++) {
        in = region_contains(&proposal->regions.region[i], (struct point){x + 0.5, y + 0.5});
      }
      things++;
      inside += in;
    }
  }
  return things > 0 ? inside / things : 0;
}
