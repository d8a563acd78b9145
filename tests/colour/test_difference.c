/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <lcms2.h>

#include "colour/difference.h"
#include "random.h"
#include "suite.h"

enum { RUNS = 5000, SEED = 2005 };

/* Test pairs of Sharma, Wu & Dalal 2005, "The CIEDE2000 color-difference formula: implementation notes, supplementary test data,
 * and mathematical observations", Color Res. Appl. 30, 21-30, table 1. */
static const struct {
  struct lab first, second;
  double difference;
} PAIRS[] = {
    {{50.0000, 2.6772, -79.7751}, {50.0000, 0.0000, -82.7485}, 2.0425},
    {{50.0000, 3.1571, -77.2803}, {50.0000, 0.0000, -82.7485}, 2.8615},
    {{50.0000, 2.8361, -74.0200}, {50.0000, 0.0000, -82.7485}, 3.4412},
    {{50.0000, -1.3802, -84.2814}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, -1.1848, -84.8006}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, -0.9009, -85.5211}, {50.0000, 0.0000, -82.7485}, 1.0000},
    {{50.0000, 0.0000, 0.0000}, {50.0000, -1.0000, 2.0000}, 2.3669},
    {{50.0000, -1.0000, 2.0000}, {50.0000, 0.0000, 0.0000}, 2.3669},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0009}, 7.1792},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0010}, 7.1792},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0011}, 7.2195},
    {{50.0000, 2.4900, -0.0010}, {50.0000, -2.4900, 0.0012}, 7.2195},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0009, -2.4900}, 4.8045},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0010, -2.4900}, 4.8045},
    {{50.0000, -0.0010, 2.4900}, {50.0000, 0.0011, -2.4900}, 4.7461},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 0.0000, -2.5000}, 4.3065},
    {{50.0000, 2.5000, 0.0000}, {73.0000, 25.0000, -18.0000}, 27.1492},
    {{50.0000, 2.5000, 0.0000}, {61.0000, -5.0000, 29.0000}, 22.8977},
    {{50.0000, 2.5000, 0.0000}, {56.0000, -27.0000, -3.0000}, 31.9030},
    {{50.0000, 2.5000, 0.0000}, {58.0000, 24.0000, 15.0000}, 19.4535},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.1736, 0.5854}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.2972, 0.0000}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 1.8634, 0.5757}, 1.0000},
    {{50.0000, 2.5000, 0.0000}, {50.0000, 3.2592, 0.3350}, 1.0000},
    {{60.2574, -34.0099, 36.2677}, {60.4626, -34.1751, 39.4387}, 1.2644},
    {{63.0109, -31.0961, -5.8663}, {62.8187, -29.7946, -4.0864}, 1.2630},
    {{61.2901, 3.7196, -5.3901}, {61.4292, 2.2480, -4.9620}, 1.8731},
    {{35.0831, -44.1164, 3.7933}, {35.0232, -40.0716, 1.5901}, 1.8645},
    {{22.7233, 20.0904, -46.6940}, {23.0331, 14.9730, -42.5619}, 2.0373},
    {{36.4612, 47.8580, 18.3852}, {36.2715, 50.5065, 21.2231}, 1.4146},
    {{90.8027, -2.0831, 1.4410}, {91.1528, -1.6435, 0.0447}, 1.4441},
    {{90.9257, -0.5406, -0.9208}, {88.6381, -0.8985, -0.7239}, 1.5381},
    {{6.7747, -0.2908, -2.4247}, {5.8714, -0.0985, -2.2286}, 0.6377},
    {{2.0776, 0.0795, -1.1350}, {0.9033, -0.0636, -0.5514}, 0.9082},
};

/* The table prints four decimals. */
static const double TABLE_ROUNDING = 0.5e-4;
/* Two codes for one formula in double arithmetic. */
static const double ROUNDING = 1e-9;

static struct lab some_lab(struct random *random, double chroma)
{
  return (struct lab){random_between(random, 0, 100), random_between(random, -chroma, chroma),
                      random_between(random, -chroma, chroma)};
}

START_TEST(sharma_pair)
{
  double there = colour_de00(PAIRS[_i].first, PAIRS[_i].second);
  double back = colour_de00(PAIRS[_i].second, PAIRS[_i].first);

  ck_assert_msg(fabs(there - PAIRS[_i].difference) <= TABLE_ROUNDING, "pair %d: %.5f, published %.4f", _i + 1,
                there, PAIRS[_i].difference);
  ck_assert_msg(fabs(there - back) <= ROUNDING, "pair %d: %.12f one way, %.12f the other", _i + 1, there,
                back);
}
END_TEST

/* Second implementation, far pairs and near ones, strong and weak chroma. */
START_TEST(agrees_with_little_cms)
{
  struct random random = random_start(SEED);

  for (int run = 0; run < RUNS; run++) {
    struct lab one = some_lab(&random, run % 2 ? 100 : 5), two = some_lab(&random, run % 2 ? 100 : 5);
    if (run % 3 == 0) {
      two = (struct lab){one.L + random_normal(&random), one.a + random_normal(&random),
                         one.b + random_normal(&random)};
    }
    cmsCIELab theirs[2] = {{one.L, one.a, one.b}, {two.L, two.a, two.b}};
    double ours = colour_de00(one, two), other = cmsCIE2000DeltaE(&theirs[0], &theirs[1], 1, 1, 1);
    ck_assert_msg(fabs(ours - other) <= ROUNDING * fmax(ours, 1),
                  "run %d: %.12f, Little-CMS %.12f (%g %g %g, %g %g %g)", run, ours, other, one.L, one.a,
                  one.b, two.L, two.a, two.b);
  }
}
END_TEST

static void check_parts(struct colour_difference d, int run)
{
  double sum = d.lightness * d.lightness + d.chroma * d.chroma + d.hue * d.hue + d.rotation;

  ck_assert_msg(fabs(sum - d.total * d.total) <= ROUNDING * fmax(sum, 1),
                "run %d: parts give %.12f, total^2 %.12f", run, sum, d.total * d.total);
}

START_TEST(parts_make_up_the_total)
{
  struct random random = random_start(SEED + 1);

  for (int run = 0; run < RUNS; run++) {
    struct lab one = some_lab(&random, 80), two = some_lab(&random, 80);
    check_parts(colour_difference_2000(one, two), run);
    check_parts(colour_difference_1976(one, two), run);
  }
}
END_TEST

START_TEST(signs_say_lighter_more_chromatic_and_higher_hue)
{
  struct lab one = {40, 10, 10}, two = {50, 10, 20};
  struct colour_difference d = colour_difference_2000(one, two), plain = colour_difference_1976(one, two);

  ck_assert(d.lightness > 0 && d.chroma > 0 && d.hue > 0);
  ck_assert(plain.lightness > 0 && plain.chroma > 0 && plain.hue > 0);
  ck_assert_double_eq_tol(plain.total, sqrt(200), ROUNDING);
  d = colour_difference_2000(two, one);
  ck_assert(d.lightness < 0 && d.chroma < 0 && d.hue < 0);
}
END_TEST

/* d' M d against the mean of the squared differences of c and c + d, c - d, which takes out the odd term. */
START_TEST(metric_measures_small_steps)
{
  const double step = 1e-4,
               relative = 1e-5; /* next term: step^2 over chroma^2, 0.25 at least; rounding 1e-16 / step^2 */
  struct random random = random_start(SEED + 2);

  for (int run = 0; run < RUNS; run++) {
    struct vec3 c = {
        {random_between(&random, 1, 99), random_between(&random, -60, 60), random_between(&random, -60, 60)}};
    struct vec3 d = {
        {step * random_normal(&random), step * random_normal(&random), step * random_normal(&random)}};
    if (hypot(c.v[1], c.v[2]) < 0.5) {
      continue;
    }
    struct lab centre = colour_lab_from_vec(c);
    double up = colour_de00(centre, colour_lab_from_vec(vec3_add(c, d)));
    double down = colour_de00(centre, colour_lab_from_vec(vec3_subtract(c, d)));
    double square = (up * up + down * down) / 2;
    double form = vec3_dot(d, mat3_apply(colour_de00_metric(centre), d));
    ck_assert_msg(fabs(form - square) <= relative * square,
                  "run %d: form %.6g, difference^2 %.6g at %g %g %g", run, form, square, c.v[0], c.v[1],
                  c.v[2]);
  }
}
END_TEST

/* At grey itself a* counts 1.5 times (G = 0.5) and nothing else is special. */
START_TEST(metric_of_grey)
{
  struct mat3 metric = colour_de00_metric((struct lab){50, 0, 0});
  const double expected[3][3] = {{1, 0, 0}, {0, 2.25, 0}, {0, 0, 1}};

  for (int i = 0; i < 3; i++) {
    for (int j = 0; j < 3; j++) {
      ck_assert_double_eq_tol(metric.m[i][j], expected[i][j], ROUNDING);
    }
  }
}
END_TEST

START_TEST(metric_is_symmetric_and_positive_definite)
{
  struct random random = random_start(SEED + 3);

  for (int run = 0; run < RUNS; run++) {
    struct mat3 metric = colour_de00_metric(some_lab(&random, 120)), vectors;
    struct vec3 values = mat3_eigen(metric, &vectors);
    ck_assert_double_eq_tol(metric.m[1][2], metric.m[2][1], ROUNDING);
    ck_assert_msg(values.v[2] > 0, "run %d: eigenvalue %g", run, values.v[2]);
  }
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("colour/difference");
  TCase *cases = tcase_create("difference");

  tcase_add_loop_test(cases, sharma_pair, 0, sizeof PAIRS / sizeof *PAIRS);
  tcase_add_test(cases, agrees_with_little_cms);
  tcase_add_test(cases, parts_make_up_the_total);
  tcase_add_test(cases, signs_say_lighter_more_chromatic_and_higher_hue);
  tcase_add_test(cases, metric_measures_small_steps);
  tcase_add_test(cases, metric_of_grey);
  tcase_add_test(cases, metric_is_symmetric_and_positive_definite);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
