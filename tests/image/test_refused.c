/* SPDX-License-Identifier: MIT */
/* Every file in tests/refused/image is refused the way expected.txt there says; crashers that were found stay there. */
#include <check.h>
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "image/encoding.h"
#include "suite.h"

enum { FILES_MAX = 200, SIZE_MAX_KEPT = 5000 };

static const char FOLDER[] = TAWNY_SOURCE_ROOT "/tests/refused/image";

struct row {
  char file[80], kind[16], code[32];
};

/* Reads the table; returns the number of rows. */
static int read_table(struct row *rows)
{
  char path[1024], line[256];
  int count = 0;

  snprintf(path, sizeof path, "%s/expected.txt", FOLDER);
  FILE *table = fopen(path, "r");
  while (table && fgets(line, sizeof line, table) && count < FILES_MAX) {
    struct row *row = &rows[count];
    if (*line != '#' && sscanf(line, "%79s %15s %31s", row->file, row->kind, row->code) == 3) {
      count++;
    }
  }
  if (table) {
    fclose(table);
  }
  return count;
}

static enum error_kind kind_of(const char *word)
{
  if (strcmp(word, "unmeasurable") == 0) {
    return ERROR_UNMEASURABLE;
  }
  ck_assert_msg(strcmp(word, "file") == 0, "expected.txt: %s", word);
  return ERROR_FILE;
}

/* Decodes and takes the profile's meaning, as a reading does. */
static bool use(const struct file_bytes *file, const char *name, struct error *error)
{
  struct image image;
  struct encoding encoding;

  if (!image_decode(file, name, &image, error)) {
    return false;
  }
  bool done = encoding_of_image(&image, name, &encoding, error);
  image_clear(&image);
  return done;
}

START_TEST(file_is_refused_as_expected)
{
  struct row rows[FILES_MAX];
  char path[1024];
  struct file_bytes file;
  struct error error = {0};

  ck_assert_int_gt(read_table(rows), _i);
  const struct row *row = &rows[_i];
  snprintf(path, sizeof path, "%s/%s", FOLDER, row->file);
  bool done = file_read(path, IMAGE_FILE_MAX, &file, &error);
  if (done) {
    ck_assert_msg(file.size < SIZE_MAX_KEPT, "%s: %zu bytes", row->file, file.size);
    done = use(&file, row->file, &error);
  }
  ck_assert_msg(!done, "%s was taken", row->file);
  ck_assert_msg(error.kind == kind_of(row->kind) && strcmp(error.code, row->code) == 0, "%s (%s)", error.text,
                error.code);
  ck_assert_msg(strstr(error.text, row->file) && strchr(error.text, ';'), "%s", error.text);
  file_bytes_clear(&file);
}
END_TEST

START_TEST(every_file_is_in_the_table)
{
  struct row rows[FILES_MAX];
  int count = read_table(rows), files = 0;
  DIR *entries = opendir(FOLDER);
  struct dirent *entry;

  ck_assert_ptr_nonnull(entries);
  while ((entry = readdir(entries))) {
    bool listed = *entry->d_name == '.' || strcmp(entry->d_name, "expected.txt") == 0;
    for (int i = 0; i < count && !listed; i++) {
      listed = strcmp(rows[i].file, entry->d_name) == 0;
      files += listed;
    }
    ck_assert_msg(listed, "%s is not in expected.txt", entry->d_name);
  }
  closedir(entries);
  ck_assert_int_eq(files, count);
}
END_TEST

int main(void)
{
  struct row rows[FILES_MAX];
  Suite *suite = suite_create("image/refused");
  TCase *cases = tcase_create("refused");

  tcase_add_test(cases, every_file_is_in_the_table);
  tcase_add_loop_test(cases, file_is_refused_as_expected, 0, read_table(rows));
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
