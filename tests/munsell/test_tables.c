/* SPDX-License-Identifier: MIT */
/* The generator of the Munsell tables: malformed tables must be refused, with file and line. */
#include <check.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/file.h"
#include "base/text.h"
#include "suite.h"

/* One fault each: in the table of that name the first `from` becomes `to`. */
static const struct {
  const char *table, *from, *to, *said;
} FAULTS[] = {
    {"renotation.csv", "2.5R,0.2,2,", "2.6R,0.2,2,", "hue, value or chroma is not of the table's steps"},
    {"renotation.csv", "2.5R,0.2,2,", "2.5X,0.2,2,", "'2.5X' is no hue"},
    {"renotation.csv", "2.5R,0.2,2,", "0R,0.2,2,", "'0R' is no hue"},
    {"renotation.csv", "2.5R,0.2,2,", "12.5R,0.2,2,", "'12.5R' is no hue"},
    {"renotation.csv", "2.5R,0.2,2,", "2.5R,0.3,2,", "is not of the table's steps"},
    {"renotation.csv", "2.5R,0.2,2,", "2.5R,0.2,3,", "is not of the table's steps"},
    {"renotation.csv", "2.5R,0.2,2,0.451", "2.5R,0.2,2,0_451", "'0_451' is no number"},
    {"renotation.csv", "2.5R,0.2,4,", "2.5R,0.2,2,", "the row is there twice"},
    {"renotation.csv", "2.5R,0.2,2,", "2.5R,0.4,2,", "the one of chroma 2 less is missing"},
    {"renotation.csv", "0.183,1956", "0.183,1955", "'1955' is no publication"},
    {"renotation.csv", "0.119,0", "0.119,1956", "a published row stands beyond an extrapolated one"},
    {"soil_names.csv", "10R 2/1,", "10R 2,", "'10R 2' is no notation"},
    {"soil_names.csv", "N 2/,", "N 2/0,", "'N 2/0' is no notation"},
    {"soil_names.csv", "10R 2/1,", "9R 2/1,", "'9R 2/1' is no chip"},
    {"soil_names.csv", "10R 2/1,", "10X 2/1,", "'10X' is no hue"},
    {"soil_names.csv", "10R 2/1,", "10R 12/1,", "'10R 12/1' is no chip"},
    {"soil_names.csv", "10R 2.5/1,", "10R 2/1,", "the chip is there twice"},
    {"soil_names.csv", "black,medium", "Black,medium", "not of the known kind"},
    {"soil_names.csv", "black,medium", "black,certain", "not of the known kind"},
    {"soil_names.csv", "black,medium", "black", "2 cells where the header has 3"},
    {"iscc_nbs_names.csv", "\n2,strong", "\n3,strong", "name 2 is due here"},
    {"iscc_nbs_blocks.csv", "\n1,", "\n268,", "there is no name 268"},
    {"iscc_nbs_blocks.csv", "\n1,", "\nx,", "there is no name x"},
    {"iscc_nbs_blocks.csv", "99,104,6.5,10,", "99,99,6.5,10,", "a block that begins at or beyond its end"},
    {"iscc_nbs_blocks.csv", "99,104,6.5,10,", "99,104,6.5,inf,", "'inf' is no number"},
};

/* What the generator is asked to make of a table, and the other tables it wants: %s stands for the one with the fault. */
static const char *task_of(const char *table)
{
  if (strcmp(table, "renotation.csv") == 0) {
    return "renotation '%s/out.c' '%s/%s'";
  }
  if (strcmp(table, "soil_names.csv") == 0) {
    return "chips '%s/out.c' '%s/%s' \"$tables/renotation.csv\"";
  }
  if (strcmp(table, "iscc_nbs_blocks.csv") == 0) {
    return "names '%s/out.c' '%s/%s' \"$tables/iscc_nbs_names.csv\"";
  }
  return "names '%s/out.c' \"$tables/iscc_nbs_blocks.csv\" '%s/%s'";
}

static void write_with_fault(const char *path, const char *table, const char *from, const char *to)
{
  char source[1024];
  struct file_bytes bytes;
  struct text text = {0};
  struct error error;

  snprintf(source, sizeof source, TAWNY_SOURCE_ROOT "/calibration/munsell/%s", table);
  ck_assert_msg(file_read(source, 1 << 24, &bytes, &error), "%s", error.text);
  char *at = strstr((char *)bytes.data, from);
  ck_assert_msg(at != NULL, "'%s' is not in %s", from, table);
  text_add_bytes(&text, (char *)bytes.data, (size_t)(at - (char *)bytes.data));
  text_add(&text, to);
  text_add(&text, at + strlen(from));
  ck_assert(file_write(path, text.data, text.length, &error));
  text_clear(&text);
  file_bytes_clear(&bytes);
}

/* Exit status of the generator on a folder's table, and what it says. */
static int generate(const char *folder, const char *table, char *said, size_t size)
{
  char task[1024], command[3072];

#pragma GCC diagnostic push
#pragma GCC diagnostic ignored "-Wformat-nonliteral"
  snprintf(task, sizeof task, task_of(table), folder, folder, table);
#pragma GCC diagnostic pop
  snprintf(command, sizeof command,
           "tables='" TAWNY_SOURCE_ROOT "/calibration/munsell'; "
           "python3 '" TAWNY_SOURCE_ROOT "/calibration/munsell_tables.py' %s 2>&1",
           task);
  FILE *pipe = popen(command, "r");
  ck_assert_ptr_nonnull(pipe);
  size_t length = fread(said, 1, size - 1, pipe);
  said[length] = '\0';
  return pclose(pipe);
}

static int try_fault(const char *table, const char *from, const char *to, char *said, size_t size,
                     bool *written)
{
  char folder[] = "/tmp/tawny-tables-XXXXXX", path[256], out[256];

  ck_assert_ptr_nonnull(mkdtemp(folder));
  snprintf(path, sizeof path, "%s/%s", folder, table);
  snprintf(out, sizeof out, "%s/out.c", folder);
  write_with_fault(path, table, from, to);
  int status = generate(folder, table, said, size);
  *written = access(out, F_OK) == 0;
  unlink(path);
  unlink(out);
  rmdir(folder);
  return status;
}

START_TEST(fault_is_refused)
{
  char said[2048];
  bool written;
  int status = try_fault(FAULTS[_i].table, FAULTS[_i].from, FAULTS[_i].to, said, sizeof said, &written);

  ck_assert_msg(status != 0 && strstr(said, FAULTS[_i].said), "%s, '%s' to '%s': said %s", FAULTS[_i].table,
                FAULTS[_i].from, FAULTS[_i].to, said);
  ck_assert_msg(strstr(said, FAULTS[_i].table) && !strstr(said, "Traceback"), "%s", said);
  ck_assert(!written);
}
END_TEST

START_TEST(sound_table_is_taken)
{
  char said[2048];
  bool written;

  ck_assert_int_eq(try_fault("soil_names.csv", "10R 2/1,", "10R 2/1,", said, sizeof said, &written), 0);
  ck_assert(written);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("munsell tables");
  TCase *tcase = tcase_create("tables");

  tcase_set_timeout(tcase, 60);
  tcase_add_loop_test(tcase, fault_is_refused, 0, sizeof FAULTS / sizeof *FAULTS);
  tcase_add_test(tcase, sound_table_is_taken);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
