/* SPDX-License-Identifier: MIT */
/* Notes that are no doubts: what is told leaves the verdict alone. The causes of doubt are provoked by scenes, in tests/cli. */
#include <check.h>
#include <stdlib.h>

#include "measure/doubts.h"
#include "suite.h"

/* A card alone, nothing about it doubtful; its photo's profile is what is given. */
static struct measurement card_alone(const char *profile)
{
  struct measurement m = {.card_found = true, .pose.patch_pixels = 40, .encoding.not_used = profile};
  struct error error;

  ck_assert(doubts_list(&m, &error));
  return m;
}

START_TEST(a_profile_of_another_kind_is_told)
{
  struct measurement m = card_alone("a lookup table");

  ck_assert_uint_eq(m.caveats, 1);
  ck_assert_str_eq(m.caveat[0].code, "profile-not-used");
  ck_assert_str_eq(m.caveat[0].text,
                   "the file's colour profile is a lookup table and was not used; sRGB's curve was the "
                   "starting point for the card's patches");
  ck_assert(!m.caveat[0].doubt);
  ck_assert_int_eq(m.caveat[0].region, -1);
  ck_assert_int_eq(m.verdict, VERDICT_SOUND);
  free(m.caveat);
}
END_TEST

START_TEST(a_profile_used_or_none_is_not_told)
{
  struct measurement m = card_alone(NULL);

  ck_assert_uint_eq(m.caveats, 0);
  ck_assert_int_eq(m.verdict, VERDICT_SOUND);
  free(m.caveat);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("measure/doubts");
  TCase *cases = tcase_create("notes");

  tcase_add_test(cases, a_profile_of_another_kind_is_told);
  tcase_add_test(cases, a_profile_used_or_none_is_not_told);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
