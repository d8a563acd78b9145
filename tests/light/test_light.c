/* SPDX-License-Identifier: MIT */
/* The light from made-up faces whose light is known. Against rendered photographs: judge_light. */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "made_face.h"
#include "suite.h"

/* Log gain off at places all over the frame: texture of 3 % a block and 2 % of 60 pixels' length leaves about 0.6 % rms. */
static const double FIELD_RMS = 0.012, FIELD_MOST = 0.05;
/* Share of log gains within 1.96 stated standard deviations. */
static const double COVERED_LEAST = 0.9;
static const double RMS_Z_LEAST = 0.4, RMS_Z_MOST = 1.15; /* neither boastful nor useless */
static const double JACOBIAN_WITHIN = 1e-8;
static const double STEP_WITHIN = 0.05; /* log gain: 5 % */
static const double DOUBT_WITHIN =
    0.3; /* of what the light is off by, so that 1.4 times the doubt holds it */
static const struct face_kind FOUR = {4, 0.03, 0.02, 0};

static const struct point PLACE[] = {{60, 60},    {600, 80}, {1200, 60}, {100, 500}, {640, 480},
                                     {1220, 500}, {80, 900}, {600, 900}, {1200, 900}};
enum { PLACES = sizeof PLACE / sizeof *PLACE };

static double log_off(const struct light *light, const struct face *face, int place, int k)
{
  return log(light_gain(light, PLACE[place]).v[k] / light_gain(&face->truth, PLACE[place]).v[k]);
}

static double deviation(const struct light *light, struct point place, int k)
{
  double jacobian[3][LIGHT_TERMS], sum = 0;

  light_jacobian(light, place, jacobian);
  for (int i = 0; i < LIGHT_TERMS; i++) {
    for (int j = 0; j < LIGHT_TERMS; j++) {
      sum += jacobian[k][i] * light->covariance[i][j] * jacobian[k][j];
    }
  }
  return sqrt(sum);
}

START_TEST(test_field_is_recovered)
{
  struct random random = random_start((uint64_t)_i);
  struct face face;
  struct light light;
  double sum = 0;

  face_begin(&face);
  face_random_light(&face, &random);
  face_fill(&face, FOUR, &random);
  face_estimate(&face, &light);
  ck_assert(light.estimated);
  for (int i = 0; i < PLACES; i++) {
    for (int k = 0; k < 3; k++) {
      double off = log_off(&light, &face, i, k);
      ck_assert_msg(fabs(off) < FIELD_MOST, "seed %d place %d channel %d off %.3f", _i, i, k, off);
      sum += off * off;
    }
  }
  ck_assert_msg(sqrt(sum / (3 * PLACES)) < FIELD_RMS, "seed %d rms %.4f", _i, sqrt(sum / (3 * PLACES)));
  face_end(&face);
}
END_TEST

START_TEST(test_gain_is_one_at_the_card)
{
  struct random random = random_start(5);
  struct face face;
  struct light light;

  face_begin(&face);
  face_random_light(&face, &random);
  face_fill(&face, FOUR, &random);
  face_estimate(&face, &light);
  struct vec3 gain = light_gain(&light, light.centre);
  for (int k = 0; k < 3; k++) {
    ck_assert_double_eq_tol(gain.v[k], 1, 1e-12);
    ck_assert_double_eq_tol(deviation(&light, light.centre, k), 0, 1e-9);
  }
  ck_assert_double_eq_tol(light.centre.x, face.truth.centre.x, 1e-6);
  ck_assert_double_eq_tol(light.centre.y, face.truth.centre.y, 1e-6);
  face_end(&face);
}
END_TEST

/* The log gain is linear in the terms, so differences of any size must give the jacobian. */
START_TEST(test_jacobian_is_the_slope)
{
  struct random random = random_start((uint64_t)_i);
  struct face face;
  double jacobian[3][LIGHT_TERMS];

  face_begin(&face);
  face_random_light(&face, &random);
  face_shadow(&face, (struct point){600, 500}, random_between(&random, 0, 360), 60);
  struct point place = {random_between(&random, 0, FACE_WIDTH), random_between(&random, 0, FACE_HEIGHT)};
  light_jacobian(&face.truth, place, jacobian);
  for (int j = 0; j < LIGHT_TERMS; j++) {
    struct light up = face.truth, down = face.truth;
    up.term[j] += 0.01;
    down.term[j] -= 0.01;
    for (int k = 0; k < 3; k++) {
      double slope = log(light_gain(&up, place).v[k] / light_gain(&down, place).v[k]) / 0.02;
      ck_assert_msg(fabs(slope - jacobian[k][j]) < JACOBIAN_WITHIN, "seed %d term %d channel %d", _i, j, k);
    }
  }
  face_end(&face);
}
END_TEST

START_TEST(test_covariance_is_true)
{
  double covered = 0, z2 = 0, count = 0;

  for (uint64_t seed = 100; seed < 140; seed++) {
    struct random random = random_start(seed);
    struct face face;
    struct light light;
    face_begin(&face);
    face_random_light(&face, &random);
    face_fill(&face, FOUR, &random);
    face_estimate(&face, &light);
    for (int i = 0; i < PLACES; i++) {
      for (int k = 0; k < 3; k++) {
        double z = log_off(&light, &face, i, k) / deviation(&light, PLACE[i], k);
        covered += fabs(z) < 1.96;
        z2 += z * z;
        count++;
      }
    }
    face_end(&face);
  }
  ck_assert_msg(covered / count >= COVERED_LEAST, "seeds 100 to 139: covers %.3f", covered / count);
  ck_assert_msg(sqrt(z2 / count) > RMS_Z_LEAST && sqrt(z2 / count) < RMS_Z_MOST, "rms z %.2f",
                sqrt(z2 / count));
}
END_TEST

START_TEST(test_no_edge_is_invented)
{
  struct random random = random_start(1000 + (uint64_t)_i);
  struct face face;
  struct light light;
  struct face_kind kind = {1 + _i % 4, random_between(&random, 0.01, 0.06), random_between(&random, 0, 0.03),
                           0};

  face_begin(&face);
  face_random_light(&face, &random);
  face_fill(&face, kind, &random);
  face_estimate(&face, &light);
  ck_assert_msg(!light.shadow_edge && !light.shadow_over_card, "seed %d", 1000 + _i);
  for (int i = 0; i < PLACES; i++) {
    ck_assert_int_eq(light_side_at(&light, PLACE[i]), LIGHT_AS_CARD);
  }
  face_end(&face);
}
END_TEST

/* Distance of a place beyond the edge that was put in; negative on the card's side. */
static double beyond(const struct face *face, struct point place)
{
  const struct light_edge *edge = &face->truth.edge;

  return (place.x - edge->place.x) * edge->normal.x + (place.y - edge->place.y) * edge->normal.y;
}

static void check_sides(const struct light *light, const struct face *face, int seed)
{
  for (int i = 0; i < PLACES; i++) {
    double far = beyond(face, PLACE[i]);
    if (fabs(far) > 120) {
      enum light_side side = light_side_at(light, PLACE[i]);
      ck_assert_msg(side == (far > 0 ? LIGHT_BEYOND : LIGHT_AS_CARD), "seed %d place %d side %d", seed, i,
                    side);
    }
  }
}

/* Edges with the card on the lit side that cross three deposits. Farther right they would run along the rim of a cut inside their
 * half shadow, where they can't be told from it. */
START_TEST(test_edge_is_found)
{
  struct random random = random_start(2000 + (uint64_t)_i);
  struct face face;
  struct light light;

  face_begin(&face);
  face_random_light(&face, &random);
  face_shadow(&face, (struct point){random_between(&random, 330, 450), 480},
              random_between(&random, 150, 210), random_between(&random, 10, 60));
  face_fill(&face, FOUR, &random);
  face_estimate(&face, &light);
  ck_assert_msg(light.shadow_edge && !light.shadow_over_card, "seed %d", 2000 + _i);
  check_sides(&light, &face, 2000 + _i);
  for (int k = 0; k < 3; k++) {
    double off = light.term[LIGHT_STEP_AT + k] - face.truth.term[LIGHT_STEP_AT + k];
    ck_assert_msg(fabs(off) < STEP_WITHIN, "seed %d channel %d step off %.3f", 2000 + _i, k, off);
  }
  face_end(&face);
}
END_TEST

START_TEST(test_edge_over_the_card_is_told)
{
  struct random random = random_start(3000);
  struct face face;
  struct light light;

  face_begin(&face);
  face_shadow(&face, (struct point){880, 480}, 180, 20);
  face_fill(&face, FOUR, &random);
  face_estimate(&face, &light);
  ck_assert(light.shadow_edge);
  ck_assert(light.shadow_over_card);
  ck_assert_int_eq(light_side_at(&light, (struct point){830, 180}), LIGHT_BEYOND);
  ck_assert_int_eq(light_side_at(&light, (struct point){1000, 180}), LIGHT_AS_CARD);
  face_end(&face);
}
END_TEST

/* Places away from the edge are in doubt if they lie beyond it, by about as much as their light is off: the field takes some of a step
 * that is left to it. */
static void check_doubts(const struct light *light, const struct face *face, int seed)
{
  ck_assert_msg(!light->shadow_edge && light->shadow_unsure, "seed %d", seed);
  for (int i = 0; i < PLACES; i++) {
    double far = beyond(face, PLACE[i]);
    if (fabs(far) > 60) {
      ck_assert_msg(light_is_unsure(light, PLACE[i]) == (far > 0), "seed %d place %d", seed, i);
    }
    for (int k = 0; k < 3 && far > 60; k++) {
      double off = log_off(light, face, i, k), doubt = -light->unsure_step.v[k];
      ck_assert_msg(off > 0 && fabs(off - doubt) < DOUBT_WITHIN * off,
                    "seed %d place %d channel %d: %.3f off, doubt %.3f", seed, i, k, off, doubt);
    }
  }
}

/* A straight step that one deposit alone shows may as well be the rim of a second one, and one to what is darker and redder is no
 * shade but may be told wrong: they are left, and places beyond are in doubt. */
START_TEST(test_straight_step_is_doubted)
{
  struct random random = random_start(8000 + (uint64_t)_i);
  struct face face;
  struct light light;
  struct face_kind kind = {1, 0.03, 0.02, 0};

  face_begin(&face);
  face_shadow(&face, (struct point){random_between(&random, 350, 600), 480},
              random_between(&random, 150, 210), random_between(&random, 30, 60));
  if (_i % 2) {
    face.truth.term[LIGHT_STEP_AT] = -0.5;
    face.truth.term[LIGHT_STEP_AT + 2] = -1.4;
  }
  face_fill(&face, kind, &random);
  face_estimate(&face, &light);
  check_doubts(&light, &face, 8000 + _i);
  face_end(&face);
}
END_TEST

START_TEST(test_one_deposit_is_enough)
{
  struct random random = random_start(4000 + (uint64_t)_i);
  struct face face;
  struct light light;
  struct face_kind kind = {1, 0.03, 0.02, 0};

  face_begin(&face);
  face_random_light(&face, &random);
  face_fill(&face, kind, &random);
  face_estimate(&face, &light);
  ck_assert(light.estimated);
  for (int i = 0; i < PLACES; i++) {
    double off = log_off(&light, &face, i, 1);
    ck_assert_msg(fabs(off) < FIELD_MOST, "seed %d place %d off %.3f", 4000 + _i, i, off);
  }
  face_end(&face);
}
END_TEST

/* A deposit that grades is no light: the others must say so, in a wider covariance. */
START_TEST(test_grading_deposit_is_told)
{
  double disagreement[2], wide[2];

  for (int i = 0; i < 2; i++) {
    struct random random = random_start(5000);
    struct face face;
    struct light light;
    struct face_kind kind = {4, 0.02, 0.01, i * 0.3};
    face_begin(&face);
    face_fill(&face, kind, &random);
    face_estimate(&face, &light);
    disagreement[i] = light.disagreement;
    wide[i] = deviation(&light, PLACE[6], 1);
    face_end(&face);
  }
  ck_assert_msg(disagreement[1] > 1.5 && disagreement[1] > 1.3 * disagreement[0],
                "disagreement %.2f and %.2f", disagreement[0], disagreement[1]);
  ck_assert_double_gt(wide[1], 1.3 * wide[0]);
}
END_TEST

START_TEST(test_nothing_to_go_by)
{
  struct face face;
  struct light light;

  face_begin(&face);
  memset(face.blocks.clipped, 255, (size_t)FACE_COLUMNS * FACE_ROWS);
  face_estimate(&face, &light);
  ck_assert(!light.estimated);
  ck_assert(!light.shadow_edge);
  for (int i = 0; i < PLACES; i++) {
    for (int k = 0; k < 3; k++) {
      ck_assert_double_eq(light_gain(&light, PLACE[i]).v[k], 1);
    }
  }
  ck_assert_double_gt(deviation(&light, PLACE[6], 1), 0.1);
  face_end(&face);
}
END_TEST

START_TEST(test_same_blocks_same_bytes)
{
  struct random random = random_start(6000);
  struct face face;
  struct light a, b;

  face_begin(&face);
  face_random_light(&face, &random);
  face_fill(&face, FOUR, &random);
  face_estimate(&face, &a);
  face_estimate(&face, &b);
  ck_assert_mem_eq(a.term, b.term, sizeof a.term);
  ck_assert_mem_eq(a.covariance, b.covariance, sizeof a.covariance);
  face_end(&face);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("light");
  TCase *field = tcase_create("field"), *edge = tcase_create("edge");

  tcase_set_timeout(field, 240);
  tcase_set_timeout(edge, 240);
  tcase_add_loop_test(field, test_field_is_recovered, 0, 12);
  tcase_add_test(field, test_gain_is_one_at_the_card);
  tcase_add_loop_test(field, test_jacobian_is_the_slope, 0, 20);
  tcase_add_test(field, test_covariance_is_true);
  tcase_add_loop_test(field, test_one_deposit_is_enough, 0, 6);
  tcase_add_test(field, test_grading_deposit_is_told);
  tcase_add_test(field, test_nothing_to_go_by);
  tcase_add_test(field, test_same_blocks_same_bytes);
  tcase_add_loop_test(edge, test_no_edge_is_invented, 0, 100);
  tcase_add_loop_test(edge, test_edge_is_found, 0, 20);
  tcase_add_test(edge, test_edge_over_the_card_is_told);
  tcase_add_loop_test(edge, test_straight_step_is_doubted, 0, 20);
  suite_add_tcase(suite, field);
  suite_add_tcase(suite, edge);
  return run_suite(suite);
}
