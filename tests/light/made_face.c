/* SPDX-License-Identifier: MIT */
#include "made_face.h"

#include <check.h>
#include <math.h>
#include <stdlib.h>

#include "texture.h"

/* Log signal of red, green and blue of four soils. */
static const double SOIL[4][3] = {
    {-1.4, -1.9, -2.7}, {-0.85, -1.2, -1.75}, {-2.3, -2.6, -3.0}, {-0.9, -1.6, -2.9}};

static const struct point CORNER[4] = {{830, 120}, {1030, 120}, {1030, 240}, {830, 240}};

void face_begin(struct face *face)
{
  struct image image = {.width = 1, .height = 1, .bits = 8};
  struct error error;

  *face = (struct face){0};
  ck_assert_msg(encoding_of_image(&image, "none", &face->profile.encoding, &error), "%s", error.text);
  ck_assert_msg(card_list_open("chart24", &face->cards, &error), "%s", error.text);
  ck_assert_msg(card_pose_from_corners(&face->cards.card[0], CORNER, &face->pose, &error), "%s", error.text);
  face->blocks = (struct image_blocks){.size = FACE_BLOCK, .columns = FACE_COLUMNS, .rows = FACE_ROWS};
  face->blocks.mean = calloc(3 * FACE_COLUMNS * FACE_ROWS, sizeof(float));
  face->blocks.spread = calloc(FACE_COLUMNS * FACE_ROWS, sizeof(float));
  face->blocks.clipped = calloc(FACE_COLUMNS * FACE_ROWS, 1);
  ck_assert(face->blocks.mean && face->blocks.spread && face->blocks.clipped);
  face->truth.centre = (struct point){930, 180};
  face->truth.middle = (struct point){FACE_WIDTH / 2.0, FACE_HEIGHT / 2.0};
  face->truth.scale = hypot(FACE_WIDTH, FACE_HEIGHT) / 2;
}

void face_random_light(struct face *face, struct random *random)
{
  static const double size[LIGHT_STEP_AT] = {0.1, 0.1, 0.08, 0.02, 0.02, 0.02, 0.02, 0.01, 0.02, 0.02, 0.01};

  for (int j = 0; j < LIGHT_STEP_AT; j++) {
    face->truth.term[j] = size[j] * random_normal(random);
  }
}

void face_shadow(struct face *face, struct point place, double degrees, double half)
{
  double angle = degrees * 3.14159265358979 / 180;

  face->truth.shadow_edge = true;
  face->truth.edge = (struct light_edge){place, {cos(angle), sin(angle)}, half};
  face->truth.term[LIGHT_STEP_AT] = -1.05;
  face->truth.term[LIGHT_STEP_AT + 1] = -1;
  face->truth.term[LIGHT_STEP_AT + 2] = -0.85;
}

/* Two layers and two cuts. */
static int deposit_at(const struct face_kind *kind, struct point place)
{
  double wave = 25 * sin(place.x / 90);
  int deposit = place.y > 430 + wave ? 1 : 0;

  if (hypot((place.x - 380) / 170, (place.y - 520) / 330) < 1) {
    deposit = 2;
  }
  if (hypot((place.x - 950) / 200, (place.y - 660) / 190) < 1) {
    deposit = 3;
  }
  return deposit < kind->deposits ? deposit : 0;
}

static void fill_block(struct face *face, const struct face_kind *kind, int column, int row, uint64_t seed,
                       struct random *random)
{
  struct point place = {(column + 0.5) * FACE_BLOCK, (row + 0.5) * FACE_BLOCK};
  size_t at = (size_t)row * FACE_COLUMNS + (size_t)column;
  struct vec3 gain = light_gain(&face->truth, place), linear;
  int deposit = deposit_at(kind, place);
  double texture =
      kind->fine * random_normal(random) + kind->coarse * texture_noise(place.x, place.y, 60, seed);

  if (deposit == 0) {
    texture += kind->grading * (place.x / FACE_WIDTH - 0.5);
  }
  for (int k = 0; k < 3; k++) {

    linear.v[k] = exp(SOIL[deposit][k] + texture) * gain.v[k];
  }
  struct vec3 code = profile_code(&face->profile, linear);
  for (int k = 0; k < 3; k++) {
    face->blocks.mean[3 * at + (size_t)k] = (float)code.v[k];
  }
}

void face_fill(struct face *face, struct face_kind kind, struct random *random)
{
  uint64_t seed = random_bits(random);

  for (int row = 0; row < FACE_ROWS; row++) {
    for (int column = 0; column < FACE_COLUMNS; column++) {
      fill_block(face, &kind, column, row, seed, random);
    }
  }
}

void face_estimate(const struct face *face, struct light *light)
{
  struct card_patches patches = {0};
  struct error error;

  ck_assert_msg(light_estimate(&face->blocks, &face->profile, &face->cards.card[0], &face->pose, &patches,
                               light, &error),
                "%s", error.text);
}

void face_end(struct face *face)
{
  image_blocks_clear(&face->blocks);
  card_list_clear(&face->cards);
}
