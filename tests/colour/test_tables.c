/* SPDX-License-Identifier: MIT */
/* The generator of the tables: malformed tables must be refused, with file and line. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/text.h"
#include "suite.h"

static const char *const OBSERVER = "observer-1931-2deg.csv";

/* One fault each: `from` in the observer's table becomes `to`. */
static const struct {
  const char *from, *to, *said;
} FAULTS[] = {
    {"380,0.001368", "381,0.001368", ":3: wavelength '381' where 380 is due"},
    {"380,0.001368", "380,1_3", ":3: '1_3' is no number"},
    {"380,0.001368", "380,nan", ":3: 'nan' is no number"},
    {"380,0.001368", "380,", ":3: '' is no number"},
    {"380,0.001368", "380, 0.001368", ":3: ' 0.001368' is no number"},
    {"380,0.001368", "380,0.1,0.001368", ":3: 5 cells where the header has 4"},
    {"385,", "\n385,", ":4: 1 cells where the header has 4"},
    {"wavelength_nm,xbar,ybar", "wavelength_nm,ybar,xbar",
     ":2: the header must be wavelength_nm,xbar,ybar,zbar"},
    {"\n780,", "\n# 780,", ":83: wavelength"},
    {"780,4.150994e-05,1.499e-05,0\n", "", ":82: 80 rows where 380 to 780 nm at 5 nm make 81"},
    {"0\n", "0", "the last line has no line end"},
};

/* The table with the fault in it. */
static void write_with_fault(const char *path, const char *from, const char *to)
{
  struct file_bytes table;
  struct text text = {0};
  struct error error;

  ck_assert_msg(
      file_read(TAWNY_SOURCE_ROOT "/calibration/cie/observer-1931-2deg.csv", 1 << 20, &table, &error), "%s",
      error.text);
  char *at =
      strcmp(from, "0\n") ? strstr((char *)table.data, from) : (char *)table.data + table.size - strlen(from);
  ck_assert_ptr_nonnull(at);
  text_add_bytes(&text, (char *)table.data, (size_t)(at - (char *)table.data));
  text_add(&text, to);
  text_add(&text, at + strlen(from));
  ck_assert(file_write(path, text.data, text.length, &error));
  text_clear(&text);
  file_bytes_clear(&table);
}

/* Runs the generator on a table in the folder; its exit status, and what it says. */
static int generate(const char *folder, char *said, size_t size)
{
  char command[2048];

  snprintf(command, sizeof command,
           "python3 '%s/calibration/tables.py' cie '%s/out.c' '%s/%s' '%s/calibration/cie/illuminants.csv' "
           "'%s/calibration/cie/daylight.csv' 2>&1",
           TAWNY_SOURCE_ROOT, folder, folder, OBSERVER, TAWNY_SOURCE_ROOT, TAWNY_SOURCE_ROOT);
  FILE *pipe = popen(command, "r");
  ck_assert_ptr_nonnull(pipe);
  size_t length = fread(said, 1, size - 1, pipe);
  said[length] = '\0';
  return pclose(pipe);
}

/* Runs the generator on the observer's table with a fault; tells whether it wrote a file. */
static int try_fault(const char *from, const char *to, char *said, size_t size, bool *written)
{
  char folder[] = "/tmp/tawny-tables-XXXXXX", table[256], out[256];

  ck_assert_ptr_nonnull(mkdtemp(folder));
  snprintf(table, sizeof table, "%s/%s", folder, OBSERVER);
  snprintf(out, sizeof out, "%s/out.c", folder);
  write_with_fault(table, from, to);
  int status = generate(folder, said, size);
  *written = access(out, F_OK) == 0;
  unlink(table);
  unlink(out);
  rmdir(folder);
  return status;
}

START_TEST(fault_is_refused)
{
  char said[2048];
  bool written;
  int status = try_fault(FAULTS[_i].from, FAULTS[_i].to, said, sizeof said, &written);

  ck_assert_msg(status != 0 && strstr(said, FAULTS[_i].said), "'%s' to '%s': said %s", FAULTS[_i].from,
                FAULTS[_i].to, said);
  ck_assert_ptr_nonnull(strstr(said, OBSERVER));
  ck_assert_msg(!strstr(said, "Traceback"), "%s", said);
  ck_assert(!written);
}
END_TEST

START_TEST(sound_table_is_taken)
{
  char said[2048];
  bool written;

  ck_assert_int_eq(try_fault("380,0.001368", "380,0.001368", said, sizeof said, &written), 0);
  ck_assert(written);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("colour/tables");
  TCase *cases = tcase_create("tables");

  tcase_add_loop_test(cases, fault_is_refused, 0, sizeof FAULTS / sizeof *FAULTS);
  tcase_add_test(cases, sound_table_is_taken);
  tcase_set_timeout(cases, 30);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
