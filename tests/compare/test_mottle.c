/* SPDX-License-Identifier: MIT */
/* Painted deposits with lumps of another soil, seen by a plain sRGB camera without a card: shares, sizes and colours are known.
 * The whole way through camera, JPEG and card is in tests/accuracy/mottle_table.c. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "colour/adapt.h"
#include "colour/difference.h"
#include "colour/srgb.h"
#include "compare/classes.h"
#include "compare/mottle.h"
#include "compare/mottle_map.h"
#include "compare/mottle_size.h"
#include "mottled.h"
#include "region/outline.h"
#include "suite.h"
#include "texture.h"

enum { SEED = 5000, SIDE = 400, RUNS = 120, PLAIN_RUNS = 100 };

/* A brown and a redder one, linear light of sRGB. */
static const struct vec3 GROUND = {{0.269, 0.182, 0.105}}, LUMP = {{0.37, 0.142, 0.045}};
static const double MM_PER_PIXEL = 0.4;

/* A measured photo made by hand. */
struct made {
  struct scene scene;
  struct measurement measurement;
  struct reading reading;
  struct region region;
};

static void make_profile(struct profile *profile)
{
  static const struct srgb primary[3] = {{255, 0, 0, true}, {0, 255, 0, true}, {0, 0, 255, true}};

  for (int k = 0; k < 3; k++) {
    struct vec3 column = colour_vec_from_xyz(colour_xyz_d50_from_srgb(primary[k]));
    for (int i = 0; i <= ENCODING_STEPS; i++) {
      profile->encoding.curve[k][i] = colour_srgb_decode((double)i / ENCODING_STEPS);
    }
    for (int row = 0; row < 3; row++) {
      profile->matrix[row][k] = column.v[row];
      profile->encoding.xyz_from_linear.m[row][k] = column.v[row];
    }
  }
}

static void paint(struct made *made, struct vec3 ground, struct vec3 lump, double drift)
{
  struct scene *scene = &made->scene;
  const struct scene_texture *texture = &scene->deposit[0].texture;
  uint8_t *map = calloc(SIDE * SIDE, 1), *code = calloc(3, SIDE * SIDE);
  struct random random = random_start(scene->seed);

  texture_paint_lumps(scene, map);
  for (int i = 0; i < SIDE * SIDE; i++) {
    double x = i % SIDE + 0.5, y = i / SIDE + 0.5;
    struct texture_value t = texture_at(texture, x, y, scene->seed);
    double factor = exp(t.level - texture->size * texture->size / 2 + drift * (x / SIDE - 0.5));
    for (int k = 0; k < 3; k++) {
      double linear = (map[i] ? lump : ground).v[k] * factor *
                      exp((k == 0   ? 0.5
                           : k == 2 ? -0.5
                                    : 0) *
                          t.mottle);
      linear += 0.004 * random_normal(&random);
      code[3 * i + k] = (uint8_t)lround(255 * fmin(fmax(colour_srgb_encode(linear), 0), 1));
    }
  }
  made->measurement.image = (struct image){.width = SIDE, .height = SIDE, .bits = 8, .codes = code};
  free(map);
}

/* `share` of lumps of `pixels` median diameter. */
static struct made *make(uint64_t seed, double share, double pixels, struct vec3 ground, struct vec3 lump,
                         double drift)
{
  struct made *made = calloc(1, sizeof *made);
  struct random random = random_start(seed);
  struct error error;

  ck_assert_ptr_nonnull(made);
  scene_plain(&made->scene, SIDE, SIDE, seed);
  made->scene.deposit[0].texture = (struct scene_texture){.size = random_between(&random, 0.05, 0.14),
                                                          .grain = random_between(&random, 1.2, 4),
                                                          .coarse = random_between(&random, 0.02, 0.12),
                                                          .mottle = random_between(&random, 0.005, 0.03)};
  made->scene.lumps = (struct scene_lumps){0, 1, share, pixels};
  paint(made, ground, lump, drift);
  struct measurement *m = &made->measurement;
  make_profile(&m->profile);
  m->pose.photo_from_card = mat3_diagonal((struct vec3){{1 / MM_PER_PIXEL, 1 / MM_PER_PIXEL, 1}});
  m->pose.mm_per_pixel = MM_PER_PIXEL;
  m->card_found = m->card.sized = true;
  ck_assert(outline_rectangle(&made->region, 8, 8, SIDE - 16, SIDE - 16, &error));
  made->reading = (struct reading){.region = &made->region, .measured = true};
  made->reading.statistics.centre = (struct point){SIDE / 2, SIDE / 2};
  m->reading = &made->reading;
  m->readings = 1;
  return made;
}

static void clear(struct made *made)
{
  free(made->measurement.image.codes);
  region_clear(&made->region);
  free(made);
}

/* The parts found, or NULL for one colour; free() it. */
static struct mottles *find(const struct made *made)
{
  struct mottle_list list;
  struct error error;

  ck_assert_msg(mottles_find(&made->measurement, &list, &error), "%s", error.text);
  ck_assert_uint_le(list.count, 1);
  ck_assert_ptr_eq(mottles_of(&list, 0), list.item);
  return list.item;
}

static struct mottled_truth truth_of(const struct made *made)
{
  struct scene_region region = {
      .shape = REGION_RECTANGLE, .vertices = 2, .vertex = {{8, 8}, {SIDE - 8, SIDE - 8}}};
  struct mottled_truth truth;

  ck_assert(mottled_truth_of(&made->scene, &region, 36, &truth));
  return truth;
}

static bool sure(enum class_system system, enum class_attribute attribute, struct mottle_figure f,
                 double scale)
{
  return class_of(system, attribute, scale * f.low) == class_of(system, attribute, scale * f.high);
}

struct tally {
  int found, held, classes, class_right, sizes, size_right, size_held;
  double share_off, size_off, colour_off;
};

static struct lab lab_of(const struct made *made, struct vec3 linear)
{
  return profile_lab(&made->measurement.profile, linear);
}

static void judge(const struct made *made, const struct mottles *found, struct tally *t)
{
  struct mottled_truth truth = truth_of(made);
  const struct mottle_part *part = &found->part[truth.share > 0.5 ? 0 : 1];
  double share = made->scene.lumps.share, mm = truth.diameter * MM_PER_PIXEL;

  t->found++;
  t->held += part->share.low <= share && share <= part->share.high;
  t->share_off += fabs(part->share.value - truth.share);
  t->colour_off += colour_de00(part->reading.lab_d50, lab_of(made, LUMP));
  for (int k = 0; k < CLASS_SYSTEMS; k++) {
    enum class_system system = (enum class_system)k;
    if (sure(system, CLASS_ABUNDANCE, part->share, 100)) {
      t->classes++;
      t->class_right += class_of(system, CLASS_ABUNDANCE, 100 * part->share.value) ==
                        class_of(system, CLASS_ABUNDANCE, 100 * share);
    }
    if (part->sized && sure(system, CLASS_SIZE, part->size, 1)) {
      t->sizes++;
      t->size_right += class_of(system, CLASS_SIZE, part->size.value) == class_of(system, CLASS_SIZE, mm);
    }
  }
  t->size_held += part->sized && part->size.low <= mm && mm <= part->size.high;
  t->size_off += part->sized ? fabs(log(part->size.value / mm)) : 0;
}

/* Over 120 faces: an interval that states 95 % holds the deposit's share in 90 % or more (three standard errors of 120 draws
 * below 0.95 are 0.89); classes are right where the interval leaves no doubt, in 95 of 100 as the interval says. */
START_TEST(shares_and_sizes)
{
  struct random random = random_start(SEED);
  struct tally t = {0};

  for (int i = 0; i < RUNS; i++) {
    double share = exp(random_between(&random, log(0.02), log(0.45)));
    double pixels = exp(random_between(&random, log(14), log(36)));
    struct made *made = make(SEED + (uint64_t)i, share, pixels, GROUND, LUMP, 0);
    struct mottles *found = find(made);
    if (found) {
      judge(made, found, &t);
    }
    free(found);
    clear(made);
  }
  double n = t.found;
  printf("seeds from %d: mottles found in %d of %d; share held in %d, off by %.4f on average; class right in "
         "%d of %d; "
         "size held in %d, off by %.1f %%, class right in %d of %d; colour off by %.2f\n",
         SEED, t.found, RUNS, t.held, t.share_off / n, t.class_right, t.classes, t.size_held,
         100 * t.size_off / n, t.size_right, t.sizes, t.colour_off / n);
  ck_assert_int_ge(10 * t.found, 9 * RUNS);
  ck_assert_int_ge(100 * t.held, 90 * t.found);
  ck_assert_int_ge(100 * t.class_right, 95 * t.classes);
  ck_assert_int_ge(100 * t.size_held, 90 * t.found);
  ck_assert_int_ge(100 * t.size_right, 95 * t.sizes);
  ck_assert_double_lt(t.share_off / n, 0.015);
  ck_assert_double_lt(t.colour_off / n, 1);
}
END_TEST

/* Of 100 textured faces of one colour, half of them with light that drifts by 10 % over them, at most 5 have parts. */
START_TEST(one_colour_is_one)
{
  int found = 0;

  for (int i = 0; i < PLAIN_RUNS; i++) {
    struct made *made = make(SEED + 1000 + (uint64_t)i, 0, 20, GROUND, LUMP, i % 2 ? 0.1 : 0);
    struct mottles *list = find(made);
    found += list != NULL;
    free(list);
    clear(made);
  }
  printf("seeds from %d: parts in %d of %d faces of one colour\n", SEED + 1000, found, PLAIN_RUNS);
  ck_assert_int_le(20 * found, PLAIN_RUNS);
}
END_TEST

static const struct munsell_chip *chip_of(const struct made *made, struct vec3 linear)
{
  struct xyz xyz = colour_xyz_from_lab(lab_of(made, linear), COLOUR_WHITE_D50);

  return munsell_nearest_soil_chip(colour_lab_from_xyz(colour_object_c_from_d50(xyz), COLOUR_WHITE_C), NULL);
}

/* A face with plain facts: what is said of each part. */
START_TEST(facts_of_a_face)
{
  struct made *made = make(SEED, 0.15, 24, GROUND, LUMP, 0);
  struct mottles *found = find(made);
  struct mottled_truth truth = truth_of(made);

  ck_assert_ptr_nonnull(found);
  ck_assert_uint_eq(found->parts, 2);
  const struct mottle_part *ground = &found->part[0], *lump = &found->part[1];
  ck_assert_double_gt(ground->share.value, lump->share.value);
  ck_assert_double_eq_tol(ground->share.value + lump->share.value, 1, 1e-9);
  ck_assert_double_eq_tol(ground->share.low + lump->share.high, 1, 1e-9);
  ck_assert(!ground->sized && ground->no_size && ground->contrast == CONTRAST_FAINT);
  ck_assert(lump->sized && lump->size.low < lump->size.value && lump->size.value < lump->size.high);
  ck_assert_double_lt(lump->least, lump->size.value);
  ck_assert_int_eq(lump->contrast, contrast_of(ground->reading.chip->colour, lump->reading.chip->colour));
  ck_assert_double_eq_tol(lump->difference.de00, colour_de00(ground->reading.lab_d50, lump->reading.lab_d50),
                          1e-9);
  ck_assert_ptr_eq(lump->reading.chip, chip_of(made, LUMP));
  ck_assert_ptr_eq(ground->reading.chip, chip_of(made, GROUND));
  ck_assert_uint_le(lump->lumps, truth.lumps + 3);
  free(found);
  clear(made);
}
END_TEST

/* No mm where the card's plane gives no scale, and the reason instead. */
START_TEST(no_size_without_a_scale)
{
  struct made *made = make(SEED, 0.15, 24, GROUND, LUMP, 0);

  made->measurement.pose.mm_per_pixel =
      3 * MM_PER_PIXEL; /* as if the face were far from the card, at a slant */
  struct mottles *found = find(made);
  ck_assert_ptr_nonnull(found);
  ck_assert(!found->part[1].sized && strstr(found->part[1].no_size, "no scale so far from the card"));
  free(found);
  made->measurement.pose.mm_per_pixel = MM_PER_PIXEL;
  made->measurement.pose.tilt_degrees = 50;
  found = find(made);
  ck_assert_ptr_nonnull(found);
  ck_assert(!found->part[1].sized && strstr(found->part[1].no_size, "too slanted"));
  free(found);
  made->measurement.card.sized = false;
  found = find(made);
  ck_assert_ptr_nonnull(found);
  ck_assert(!found->part[1].sized && strstr(found->part[1].no_size, "no true size"));
  free(found);
  clear(made);
}
END_TEST

/* A face that recedes: from 0.32 mm a pixel at one rim to 0.52 at the other, 0.4 in the middle. What is not seen is that of the middle, not
 * of whichever lump comes last. */
START_TEST(the_least_size_is_that_of_the_whole_region)
{
  const double slant = _i ? 8e-4 : -8e-4, middle = SIDE / 2.0, mm = MM_PER_PIXEL;
  struct mat3 card_from_photo = {
      {{mm, 0, -mm * middle}, {0, mm, -mm * middle}, {0, -slant, 1 + slant * middle}}};
  struct made *made = make(SEED, 0.15, 24, GROUND, LUMP, 0);
  struct mottles *flat = find(made);

  ck_assert(mat3_invert(card_from_photo, &made->measurement.pose.photo_from_card));
  ck_assert_double_eq_tol(mottle_scale(&made->measurement, (struct point){middle, SIDE}),
                          mm * pow(1 - slant * middle, -1.5), 0.01);
  struct mottles *found = find(made);
  ck_assert(flat && found && flat->part[1].sized && found->part[1].sized);
  ck_assert_double_eq_tol(found->part[1].least / flat->part[1].least, 1, 0.08);
  free(flat);
  free(found);
  clear(made);
}
END_TEST

/* A region too small for parts, and one not measured, are passed over. */
START_TEST(small_and_unmeasured)
{
  struct made *made = make(SEED, 0.3, 24, GROUND, LUMP, 0);
  struct error error;

  region_clear(&made->region);
  ck_assert(outline_rectangle(&made->region, 100, 100, 20, 20, &error));
  ck_assert_ptr_null(find(made));
  made->reading.measured = false;
  ck_assert_ptr_null(find(made));
  clear(made);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("compare mottle");
  TCase *tests = tcase_create("all");

  tcase_set_timeout(tests, 600);
  tcase_add_test(tests, shares_and_sizes);
  tcase_add_test(tests, one_colour_is_one);
  tcase_add_test(tests, facts_of_a_face);
  tcase_add_loop_test(tests, the_least_size_is_that_of_the_whole_region, 0, 2);
  tcase_add_test(tests, no_size_without_a_scale);
  tcase_add_test(tests, small_and_unmeasured);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
