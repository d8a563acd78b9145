/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "shared.h"
#include "suite.h"

static bool read_text(const char *text, double beyond, struct spectra *spectra, struct error *error)
{
  char path[] = "/tmp/tawny-spectra-XXXXXX";
  int handle = mkstemp(path);

  ck_assert_int_ge(handle, 0);
  close(handle);
  ck_assert(file_write(path, text, strlen(text), error));
  bool done = spectra_read(path, beyond, spectra, error);
  unlink(path);
  return done;
}

START_TEST(rows_are_interpolated_and_held)
{
  struct spectra spectra;
  struct error error;

  ck_assert_msg(read_text("# note\nid,400,420\none,1,3\ntwo,0.5,0.5\n", 1, &spectra, &error), "%s",
                error.text);
  ck_assert_uint_eq(spectra.count, 2);
  const struct spectrum *one = spectra_find(&spectra, "one");
  ck_assert_ptr_nonnull(one);
  ck_assert_ptr_null(spectra_find(&spectra, "three"));
  ck_assert_double_eq_tol(one->band[0], 1, 1e-12);
  ck_assert_double_eq_tol(one->band[4], 1, 1e-12);
  ck_assert_double_eq_tol(one->band[5], 1.5, 1e-12);
  ck_assert_double_eq_tol(one->band[8], 3, 1e-12);
  ck_assert_double_eq_tol(one->band[80], 3, 1e-12);
  spectra_clear(&spectra);
  ck_assert(read_text("id,400,420\none,1,3\n", 0, &spectra, &error));
  ck_assert_double_eq_tol(spectra.spectrum[0].band[0], 0, 1e-12);
  ck_assert_double_eq_tol(spectra.spectrum[0].band[4], 1, 1e-12);
  spectra_clear(&spectra);
}
END_TEST

static const char *const MALFORMED[] = {"id,400,420\none,1\n", "id,400,420\none,1,x\n",
                                        "id,400,420\none,1,2,3\n", "id,400,420\none\n",
                                        "id,400,red\none,1,2\n"};

START_TEST(malformed_rows_are_refused)
{
  struct spectra spectra;
  struct error error;

  ck_assert(!read_text(MALFORMED[_i], 1, &spectra, &error));
  ck_assert_str_eq(error.code, "bad-spectra");
  ck_assert_ptr_null(spectra.spectrum);
}
END_TEST

START_TEST(environment_names_the_folder)
{
  char path[256];

  ck_assert_int_eq(setenv("TAWNY_SHARED", "/nowhere", 1), 0);
  ck_assert(!shared_path("spectra/a.csv", path, sizeof path));
  ck_assert_str_eq(path, "/nowhere/spectra/a.csv");
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("support/shared");
  TCase *cases = tcase_create("shared");

  tcase_add_test(cases, rows_are_interpolated_and_held);
  tcase_add_loop_test(cases, malformed_rows_are_refused, 0, sizeof MALFORMED / sizeof *MALFORMED);
  tcase_add_test(cases, environment_names_the_folder);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
