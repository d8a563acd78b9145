/* SPDX-License-Identifier: MIT */
/* What the patches say of each other, of the light over the card, and of a camera that the model does not hold. */
#include <check.h>
#include <math.h>

#include "colour/difference.h"
#include "shot.h"
#include "suite.h"

START_TEST(left_one_out_matches_fits_without_the_patch)
{
  struct shot shot;
  double off[PATCHES];
  size_t count = 0;

  make_shot(SEED + 800 + (uint64_t)_i, 1, 0.2, &shot);
  struct profile whole = fit(&shot);
  for (int i = 0; i < PATCHES; i++) {
    struct shot without = shot;
    if (shot.sample[i].cause != CARD_USED) {
      continue;
    }
    without.sample[i].cause = CARD_OUTSIDE;
    struct profile profile = fit(&without);
    off[count++] = colour_de00(profile_lab(&profile, toned(&profile, shot.sample[i].linear)),
                               shot.sample[i].reference_d50);
  }
  double mean = 0;
  for (size_t i = 0; i < count; i++) {
    mean += off[i] / (double)count;
  }
  /* the refit does not know the pigments' expected errors, hence the width */
  ck_assert_msg(fabs(whole.left_one_out.median / mean - 1) < 0.5, "seed %d: median %g, refits' mean %g", _i,
                whole.left_one_out.median, mean);
}
END_TEST

/* Over many cards that differ from their sheet as their tolerance says, each patch lies where the others expect it in about 95 % of
 * cases. Patches of one shot share the fit; 40 shots of 20 and more patches have a standard deviation of about 0.01. */
START_TEST(patches_lie_where_the_others_expect_them)
{
  enum { SHOTS = 40 };
  int used = 0, inside = 0;

  for (int seed = 0; seed < SHOTS; seed++) {
    struct shot shot;
    make_shot(SEED + 2000 + (uint64_t)seed, 0.8, 0.05 * (seed % 8), &shot);
    fit(&shot);
    for (int i = 0; i < PATCHES; i++) {
      used += shot.sample[i].cause == CARD_USED;
      inside += shot.sample[i].cause == CARD_USED && shot.sample[i].left_one_out <= shot.sample[i].radius;
    }
  }
  double share = inside / (double)used;
  ck_assert_msg(share > 0.91 && share < 0.99, "seeds %llu..: %.3f of %d inside",
                (unsigned long long)SEED + 2000, share, used);
}
END_TEST

/* A lamp close by, redder than the rest: 12 % more light at the short sides of the card than in its middle, which nobody told of.
 * Soils have the card's mean light. */
START_TEST(light_that_bulges_over_the_card_is_seen)
{
  struct shot even, shot;

  make_shot(SEED + 2100 + (uint64_t)_i, 0.3, 0, &even);
  shot = even;
  for (int i = 0; i < PATCHES; i++) {
    double x = (i % 6 - 2.5) / 2.5;
    struct vec3 gain = {{exp(0.12 * (x * x - 0.467) + 0.03 * x), exp(0.12 * (x * x - 0.467)),
                         exp(0.12 * (x * x - 0.467) - 0.03 * x)}};
    shot.sample[i].linear = vec3_multiply(shot.sample[i].linear, gain);
    shot.sample[i].cause = is_clipped(shot.sample[i].linear) ? CARD_CLIPPED : CARD_USED;
  }
  struct profile plain = fit(&even), bulged = fit(&shot);
  ck_assert_msg(worst_soil(&bulged, &shot) < worst_soil(&plain, &even) + 1,
                "seed %d: a soil is off by %g, was %g", _i, worst_soil(&bulged, &shot),
                worst_soil(&plain, &even));
  ck_assert_msg(bulged.left_one_out.median < 1.5, "seed %d: left-one-out %g", _i, bulged.left_one_out.median);
}
END_TEST

/* A card within its tolerance tells of no misfit; colours off by five times that do, and soils are given their share. */
START_TEST(a_misfit_is_stated)
{
  struct shot sound, strange;
  const struct lab soil = {45, 8, 20};

  make_shot(SEED + 2200 + (uint64_t)_i, 0.8, 0.2, &sound);
  make_shot(SEED + 2200 + (uint64_t)_i, 4, 0.2, &strange);
  for (int i = 0; i < PATCHES; i++) {
    strange.sample[i].tolerance = 0.8;
  }
  struct profile plain = fit(&sound), off = fit(&strange);
  ck_assert_double_eq(plain.misfit, 0);
  ck_assert_double_eq(colour_de00_radius95(soil, profile_misfit(&plain, soil)), 0);
  /* 4 / sqrt 3 each axis, less what a worn card explains; heavy tails count less */
  ck_assert_msg(off.misfit > 1 && off.misfit < 2.5, "seed %d: misfit %g", _i, off.misfit);
  /* chi-squared of 3: root of 7.815 */
  ck_assert_double_eq_tol(colour_de00_radius95(soil, profile_misfit(&off, soil)), off.misfit * sqrt(7.815),
                          0.02 * off.misfit);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("patches");
  TCase *tests = tcase_create("patches");

  if (!fill_chart()) {
    return 99; /* the support library is at fault, not the fit */
  }
  tcase_set_timeout(tests, 600);
  tcase_add_loop_test(tests, left_one_out_matches_fits_without_the_patch, 0, 3);
  tcase_add_test(tests, patches_lie_where_the_others_expect_them);
  tcase_add_loop_test(tests, light_that_bulges_over_the_card_is_seen, 0, 4);
  tcase_add_loop_test(tests, a_misfit_is_stated, 0, 4);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
