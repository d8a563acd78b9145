/* SPDX-License-Identifier: MIT */
/* The program at work: what it prints, writes and returns, and that whatever fails is said once and leaves nothing behind. */
#include <check.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/text.h"
#include "photo.h"
#include "run.h"
#include "suite.h"

static char folder[64];

static void write_text(const char *name, const char *text)
{
  struct error error;

  ck_assert(file_write(run_path(folder, name), text, strlen(text), &error));
}

static void make_folder(void)
{
  snprintf(folder, sizeof folder, "%s", run_folder());
  photo_write(run_path(folder, "good.png"), true);
  photo_write(run_path(folder, "bare.png"), false);
  write_text("words.jpg", "this is no picture\n");
  write_text("empty.jpg", "\n");
  write_text("regions.csv", PHOTO_REGIONS);
  write_text("broken.csv", "region,shape,points\na,triangle,1 2 3\n");
  write_text("unnamed.csv", "region,shape,points\na,circle,400 550 40\n");
  write_text("beyond.csv",
             "region,context,shape,points\nin,1042,circle,400 550 40\nout,1043,circle,890 550 40\n");
  write_text("nowhere.csv", "region,shape,points\nout,circle,890 550 40\n");
}

static void remove_folder(void)
{
  run_folder_remove(folder);
}

static bool exists(const char *name)
{
  return access(run_path(folder, name), F_OK) == 0;
}

static size_t lines(const char *text)
{
  size_t count = 0;

  for (; (text = strchr(text, '\n')); text++) {
    count++;
  }
  return count;
}

/* Runs, and expects a status and as many lines on standard error. */
static struct run expect(const char *words, const char *input, int status, size_t failures)
{
  struct run run = run_tawny(folder, words, input);

  ck_assert_msg(run.status == status, "%s: status %d, not %d; %s", words, run.status, status, run.err);
  ck_assert_msg(lines(run.err) == failures, "%s: not %zu lines on standard error:\n%s", words, failures,
                run.err);
  return run;
}

static void expect_words(const char *text, const char *words)
{
  ck_assert_msg(strstr(text, words) != NULL, "\"%s\" is not in\n%s", words, text);
}

static json_t *json_line(const char *text, size_t index)
{
  json_error_t fault;

  for (size_t i = 0; i < index; i++) {
    text = strchr(text, '\n') + 1;
  }
  json_t *value = json_loadb(text, strcspn(text, "\n"), JSON_REJECT_DUPLICATES, &fault);
  ck_assert_msg(value != NULL, "line %zu: %s", index, fault.text);
  return value;
}

static const char *file_of(const json_t *line)
{
  return json_string_value(json_object_get(json_object_get(line, "photo"), "file"));
}

/* One failing thing a row; `said` follows "tawny: ". */
static const struct {
  const char *words;
  int status;
  const char *said;
} FAIL[] = {
    {"read gone.jpg", 3, "gone.jpg can't be read: No such file or directory; check the name"},
    {"read words.jpg", 3, "words.jpg is "},
    {"read .", 3, ". is a directory"},
    {"read bare.png", 1, "bare.png: "},
    {"check bare.png", 1, "bare.png: "},
    {"check gone.jpg", 3, "gone.jpg can't be read"},
    {"read good.png --regions gone.csv", 3, "gone.csv can't be read"},
    {"read good.png --regions broken.csv", 3, "broken.csv: "},
    {"read good.png bare.png --regions unnamed.csv", 3,
     "unnamed.csv: region a names no photo; with several photos each region needs the photo column"},
    {"read good.png --card words.jpg", 3, "words.jpg"},
    {"read good.png --card gone.txt", 3, "gone.txt can't be read"},
    {"read good.png --regions beyond.csv", 1, "good.png: out: the outline reaches to "},
    {"read good.png --regions nowhere.csv --json", 1, "good.png: out: the outline reaches to "},
    {"read good.png --icc nowhere/out.icc", 3, "nowhere/out.icc can't be written"},
    {"read good.png --corrected nowhere/out.jpg", 3, "nowhere/out.jpg can't be written"},
    {"read good.png --overlay nowhere/out.png --json", 3, "nowhere/out.png can't be written"},
};

START_TEST(each_failure_is_said_in_one_line)
{
  struct run run = expect(FAIL[_i].words, "", FAIL[_i].status, 1);

  ck_assert_msg(strncmp(run.err, "tawny: ", 7) == 0 &&
                    strncmp(run.err + 7, FAIL[_i].said, strlen(FAIL[_i].said)) == 0,
                "%s: expected tawny: %s, got %s", FAIL[_i].words, FAIL[_i].said, run.err);
  expect_words(run.err, "; "); /* what to do */
  run_clear(&run);
}
END_TEST

START_TEST(regions_are_read)
{
  struct run run = expect("read good.png --regions regions.csv", "", 0, 0);

  ck_assert_msg(strncmp(run.out, "1042 moist: 10YR 3/3 dark brown; ", 33) == 0, "%s", run.out);
  expect_words(run.out, "\n1043 moist: 10YR 6/6 brownish yellow; distinct from 1042\n");
  expect_words(run.out, "10YR 3/3 dark brown; distinct from 1043\n");
  ck_assert(strstr(run.out, "1044") == NULL && strstr(run.out, "1045") == NULL); /* of another photo */
  ck_assert(strchr(run.out, '\x1b') == NULL);
  run_clear(&run);
}
END_TEST

START_TEST(options_stand_anywhere)
{
  struct run first = expect("read good.png --regions regions.csv --json", "", 0, 0);
  struct run second = expect("read --json --regions=regions.csv -- good.png", "", 0, 0);
  struct run third = expect("read - --json --regions regions.csv", "good.png\r\n\n", 0, 0);

  ck_assert_str_eq(first.out, second.out);
  ck_assert_str_eq(first.out, third.out);
  run_clear(&first);
  run_clear(&second);
  run_clear(&third);
}
END_TEST

START_TEST(corners_given_by_hand_read_the_same_card)
{
  char words[200];

  snprintf(words, sizeof words, "read good.png --json --regions regions.csv --patches %s", photo_corners());
  struct run by_hand = expect(words, "", 0, 0);
  json_t *line = json_line(by_hand.out, 0);
  json_t *reading = json_array_get(json_object_get(line, "readings"), 0);
  ck_assert_str_eq(json_string_value(json_object_get(reading, "chip")), "10YR 3/3");
  ck_assert_uint_eq(json_integer_value(json_object_get(json_object_get(line, "card"), "patches_used")), 24);
  json_decref(line);
  run_clear(&by_hand);
}
END_TEST

START_TEST(regions_of_other_photos_alone_are_noted)
{
  write_text("others.csv", "photo,region,shape,points\nother.png,a,circle,400 550 40\n");
  struct run run = expect("read good.png --json --regions others.csv", "", 0, 1);
  expect_words(run.err, "tawny: good.png: no region of others.csv is of this photo");
  json_t *line = json_line(run.out, 0);
  ck_assert_uint_eq(json_array_size(json_object_get(line, "readings")), 0);
  json_decref(line);
  run_clear(&run);
  write_text("empty.csv", "region,shape,points\n");
  run = expect("read good.png --regions empty.csv", "", 0, 1);
  expect_words(run.err, "tawny: good.png: empty.csv outlines no region; add a row");
  run_clear(&run);
}
END_TEST

START_TEST(several_photos_give_lines_in_the_order_of_input)
{
  struct run run = expect("read good.png - gone.jpg --json", "bare.png\nwords.jpg\n", 3, 3);
  static const char *const file[] = {"good.png", "bare.png", "words.jpg", "gone.jpg"};

  ck_assert_uint_eq(lines(run.out), 4);
  for (size_t i = 0; i < 4; i++) {
    json_t *line = json_line(run.out, i);
    ck_assert_str_eq(file_of(line), file[i]);
    ck_assert_int_eq(json_object_get(line, "error") != NULL, i >= 2);
    json_decref(line);
  }
  run_clear(&run);
}
END_TEST

START_TEST(without_a_card_nothing_is_made_up)
{
  struct run run =
      expect("read bare.png --json --regions unnamed.csv --icc out.icc --overlay out.png", "", 1, 1);
  json_t *line = json_line(run.out, 0), *card = json_object_get(line, "card");

  ck_assert(json_is_false(json_object_get(card, "found")));
  ck_assert(json_string_length(json_object_get(card, "reason")) > 0);
  ck_assert_str_eq(json_string_value(json_object_get(line, "verdict")), "unfit");
  ck_assert_uint_eq(json_array_size(json_object_get(line, "readings")), 0);
  ck_assert(json_object_get(line, "error") == NULL);
  ck_assert(!exists("out.icc") && !exists("out.png"));
  json_decref(line);
  run_clear(&run);
}
END_TEST

START_TEST(a_region_that_fails_leaves_the_others)
{
  struct run run = expect("read good.png --regions beyond.csv --json", "", 1, 1);
  json_t *line = json_line(run.out, 0), *readings = json_object_get(line, "readings");

  ck_assert_uint_eq(json_array_size(readings), 2);
  ck_assert(json_object_get(json_array_get(readings, 0), "lab_d50") != NULL);
  json_t *error = json_object_get(json_array_get(readings, 1), "error");
  ck_assert_str_eq(json_string_value(json_object_get(error, "code")), "outside");
  ck_assert(json_object_get(json_array_get(readings, 1), "lab_d50") == NULL);
  json_decref(line);
  run_clear(&run);
}
END_TEST

START_TEST(an_outline_on_the_card_is_doubted)
{
  double x[4], y[4];
  char text[200];

  ck_assert_int_eq(sscanf(photo_corners(), "'%lf,%lf %lf,%lf %lf,%lf %lf,%lf", &x[0], &y[0], &x[1], &y[1],
                          &x[2], &y[2], &x[3], &y[3]),
                   8);
  snprintf(text, sizeof text,
           "region,shape,points\non,circle,%.0f %.0f 8\nover,circle,%.0f %.0f 9\n"
           "across,rectangle,2 %.0f 890 4\n",
           (x[0] + x[2]) / 2, (y[0] + y[2]) / 2, x[0], y[0], (y[0] + y[2]) / 2);
  write_text("on-card.csv", text);
  struct run run = expect("read good.png --regions on-card.csv", "", 0, 0);
  expect_words(run.out, "- Doubt: on lies on the card or reaches over it");
  expect_words(run.out, "- Doubt: over lies on the card or reaches over it");
  expect_words(run.out, "- Doubt: across lies on the card or reaches over it");
  run_clear(&run);
  write_text("clear.csv", "region,shape,points\n" /* the middle of what lies round the card is on it */
                          "round,polygon,\"120,45 150,45 150,430 750,430 750,45 780,45 780,460 120,460\"\n"
                          "beside,rectangle,300 500 150 100\n");
  run = expect("read good.png --regions clear.csv", "", 0, 0);
  ck_assert_msg(strstr(run.out, "on the card or reaches over it") == NULL, "%s", run.out);
  run_clear(&run);
}
END_TEST

static void expect_magic(const char *name, size_t at, const char *magic)
{
  struct file_bytes bytes;
  struct error error;

  ck_assert_msg(file_read(run_path(folder, name), 1 << 28, &bytes, &error), "%s", error.text);
  ck_assert_msg(bytes.size > 200 && memcmp(bytes.data + at, magic, strlen(magic)) == 0,
                "%s does not begin as it should", name);
  file_bytes_clear(&bytes);
}

START_TEST(files_are_written)
{
  struct run run = expect(
      "read good.png --regions regions.csv --icc out.icc --corrected out.jpg --overlay OUT.PNG", "", 0, 0);

  expect_magic("out.icc", 36, "acsp");
  expect_magic("out.jpg", 0, "\xFF\xD8\xFF");
  expect_magic("OUT.PNG", 0, "\x89PNG\r\n");
  run_clear(&run);
}
END_TEST

START_TEST(a_link_to_the_photo_is_the_photo)
{
  ck_assert_int_eq(symlink("good.png", run_path(folder, "link.png")), 0);
  struct run run = expect("read good.png --overlay link.png", "", 2, 1);
  expect_words(run.err, "--overlay would write over the photo link.png");
  run_clear(&run);
}
END_TEST

START_TEST(odd_names_do_no_harm)
{
  photo_write(run_path(folder, "a\nb\x1b[31m\xFF.png"), true);
  struct run text = expect("read 'a\nb\x1b[31m\xFF.png'", "", 0, 0);
  struct run json = expect("read --json 'a\nb\x1b[31m\xFF.png' 'no\nsuch\xFF.png'", "", 3, 1);

  ck_assert(strchr(text.out, '\x1b') == NULL);
  expect_words(text.out, "a?b?[31m?.png: sound");
  ck_assert_uint_eq(lines(json.out), 2);
  json_t *line = json_line(json.out, 0);
  ck_assert_str_eq(file_of(line), "a\nb\x1b[31m\xEF\xBF\xBD.png");
  json_decref(line);
  run_clear(&text);
  run_clear(&json);
}
END_TEST

START_TEST(check_looks_at_photos)
{
  struct run text = expect("check good.png", "", 0, 0),
             json = expect("check --json good.png bare.png", "", 1, 1);

  expect_words(text.out, "good.png: sound: fit for measuring\n");
  for (size_t i = 0; i < 2; i++) {
    json_t *line = json_line(json.out, i);
    ck_assert_str_eq(json_string_value(json_object_get(line, "verdict")), i == 0 ? "sound" : "unfit");
    ck_assert_uint_eq(json_array_size(json_object_get(line, "readings")), 0);
    json_decref(line);
  }
  run_clear(&text);
  run_clear(&json);
}
END_TEST

START_TEST(a_full_disk_is_said)
{
  if (access("/dev/full", W_OK) != 0) {
    return;
  }
  char words[300];
  snprintf(words, sizeof words, "cd '%s' && \"$TAWNY_PROGRAM\" read good.png >/dev/full 2>err.txt", folder);
  int state = system(words);
  struct file_bytes err;
  struct error error;
  ck_assert_int_eq(WEXITSTATUS(state), 3);
  ck_assert(file_read(run_path(folder, "err.txt"), 1 << 20, &err, &error));
  expect_words((const char *)err.data, "tawny: good.png: standard output can't be written: ");
  file_bytes_clear(&err);
}
END_TEST

START_TEST(the_same_photo_gives_the_same_bytes)
{
  struct run first = expect("read good.png --regions regions.csv --json --icc a.icc", "", 0, 0);
  struct run second = expect("read good.png --regions regions.csv --json --icc b.icc", "", 0, 0);
  struct file_bytes a, b;
  struct error error;

  ck_assert_str_eq(first.out, second.out);
  ck_assert(file_read(run_path(folder, "a.icc"), 1 << 28, &a, &error));
  ck_assert(file_read(run_path(folder, "b.icc"), 1 << 28, &b, &error));
  ck_assert_uint_eq(a.size, b.size);
  ck_assert_mem_eq(a.data, b.data, a.size);
  file_bytes_clear(&a);
  file_bytes_clear(&b);
  run_clear(&first);
  run_clear(&second);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("read");
  TCase *tcase = tcase_create("read");

  tcase_set_timeout(tcase, 120);
  tcase_add_unchecked_fixture(tcase, make_folder, remove_folder);
  tcase_add_loop_test(tcase, each_failure_is_said_in_one_line, 0, (int)(sizeof FAIL / sizeof *FAIL));
  tcase_add_test(tcase, regions_are_read);
  tcase_add_test(tcase, options_stand_anywhere);
  tcase_add_test(tcase, corners_given_by_hand_read_the_same_card);
  tcase_add_test(tcase, regions_of_other_photos_alone_are_noted);
  tcase_add_test(tcase, several_photos_give_lines_in_the_order_of_input);
  tcase_add_test(tcase, without_a_card_nothing_is_made_up);
  tcase_add_test(tcase, a_region_that_fails_leaves_the_others);
  tcase_add_test(tcase, an_outline_on_the_card_is_doubted);
  tcase_add_test(tcase, files_are_written);
  tcase_add_test(tcase, a_link_to_the_photo_is_the_photo);
  tcase_add_test(tcase, odd_names_do_no_harm);
  tcase_add_test(tcase, check_looks_at_photos);
  tcase_add_test(tcase, a_full_disk_is_said);
  tcase_add_test(tcase, the_same_photo_gives_the_same_bytes);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
