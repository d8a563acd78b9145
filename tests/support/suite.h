/* SPDX-License-Identifier: MIT */
/* The end of every test program's main(). */
#ifndef TAWNY_TESTS_SUITE_H
#define TAWNY_TESTS_SUITE_H

#include <check.h>
#include <stdlib.h>

/* Runs a suite and frees it; the program's exit status. CK_VERBOSITY says how much is printed. */
static inline int run_suite(Suite *suite)
{
  SRunner *runner = srunner_create(suite);

  srunner_run_all(runner, CK_ENV);
  int failed = srunner_ntests_failed(runner);
  srunner_free(runner);
  return failed == 0 ? EXIT_SUCCESS : EXIT_FAILURE;
}

#endif
