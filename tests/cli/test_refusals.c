/* SPDX-License-Identifier: MIT */
/* Whatever can't be read or measured, through the program: one line on standard error, the right exit status, and nothing written.
 * Photos are rendered, or are those of tests/refused. */
#include <check.h>
#include <dirent.h>
#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "made.h"
#include "render.h"
#include "run.h"
#include "suite.h"

enum { WIDTH = 720, HEIGHT = 540, SEED = 4 };

/* Words that ask for every file the program writes. */
#define WRITE " --icc X.icc --corrected X.png --overlay Y.png"

/* The same of `tawny edge`. */
#define PICTURE " --picture X.svg"

static char folder[64], corners[120];

static void write_text(const char *name, const char *text)
{
  struct error error;

  ck_assert(file_write(run_path(folder, name), text, strlen(text), &error));
}

/* The chart before a grey wall, whole. */
static struct scene plain_scene(void)
{
  struct spectra_source source;
  struct scene scene;
  struct error error;

  ck_assert_msg(source_made(&source, &error), "%s", error.text);
  scene_plain(&scene, WIDTH, HEIGHT, SEED);
  scene_card_chart24(&scene, source.chart[0], 0);
  scene.card.centre = (struct point){330, 250};
  scene.card.mm_per_pixel = 0.7;
  scene.deposit[0].texture.size = 0.1;
  source_clear(&source);
  return scene;
}

static void write_scene(const char *name, const struct scene *scene)
{
  struct file_bytes file;
  struct error error;

  ck_assert_msg(render_file(scene, &file, &error), "%s", error.text);
  ck_assert_msg(file_write(run_path(folder, name), file.data, file.size, &error), "%s", error.text);
  file_bytes_clear(&file);
}

/* The corner patches, quoted for run_tawny(). */
static void note_corners(const struct scene *scene)
{
  static const int patch[] = {0, 5, 23, 18};
  struct mat3 plane = scene_card_plane(scene);
  int length = snprintf(corners, sizeof corners, " --patches '");

  for (size_t k = 0; k < 4; k++) {
    struct point mm = scene_patch_mm(&scene->card.geometry, patch[k]);
    struct point place = scene_project(plane, mm.x, mm.y);
    length += snprintf(corners + length, sizeof corners - (size_t)length, "%s%.1f,%.1f", k ? " " : "",
                       place.x, place.y);
  }
  snprintf(corners + length, sizeof corners - (size_t)length, "'");
}

/* A darker soil below 450 pixels. */
static void add_lower_soil(struct scene *scene)
{
  scene->deposit[1] = scene->deposit[0];
  scene->deposit[1].reflectance = made_flat(0.09);
  for (int i = 0; i < 2; i++) {
    scene->deposit[1].vertex[i].y = 450;
  }
  scene->deposits = 2;
}

static void write_scenes(void)
{
  struct scene scene = plain_scene();

  note_corners(&scene);
  write_scene("good.png", &scene);
  scene.card.centre.x = 20;
  write_scene("cut.png", &scene);
  scene = plain_scene();
  add_lower_soil(&scene);
  write_scene("two.png", &scene);
  scene = plain_scene();
  scene.card.mirrored = true;
  write_scene("mirrored.png", &scene);
  scene = plain_scene();
  scene.card.present = false;
  write_scene("bare.png", &scene);
  scene = plain_scene();
  scene.camera.exposure = 100;
  write_scene("clipped.png", &scene);
}

static void make_folder(void)
{
  snprintf(folder, sizeof folder, "%s", run_folder());
  write_scenes();
  write_text("empty", "");
  write_text("card.txt", "CGATS.17\nNUMBER_OF_FIELDS 4\nrubbish\n");
  ck_assert_int_eq(mkdir(run_path(folder, "folder"), 0700), 0);
  ck_assert_int_eq(mkdir(run_path(folder, "folder.icc"), 0700), 0);
  ck_assert_int_eq(mkdir(run_path(folder, "folder.png"), 0700), 0);
}

static void remove_folder(void)
{
  rmdir(run_path(folder, "folder"));
  rmdir(run_path(folder, "folder.icc"));
  rmdir(run_path(folder, "folder.png"));
  run_folder_remove(folder);
}

/* Entries of the folder, hidden ones too. */
static size_t entries(void)
{
  DIR *list = opendir(folder);
  size_t count = 0;

  ck_assert_ptr_nonnull(list);
  while (readdir(list)) {
    count++;
  }
  closedir(list);
  return count;
}

static size_t lines(const char *text)
{
  size_t count = 0;

  for (; (text = strchr(text, '\n')); text++) {
    count++;
  }
  return count;
}

/* Runs what must fail; nothing may be left behind. */
static void expect_refused(const char *words, int status, const char *said)
{
  size_t before = entries();
  struct run run = run_tawny(folder, words, "");

  ck_assert_msg(run.status == status, "%s: status %d, not %d; %s", words, run.status, status, run.err);
  ck_assert_msg(lines(run.err) == 1, "%s: not one line on standard error:\n%s", words, run.err);
  ck_assert_msg(strncmp(run.err, "tawny: ", 7) == 0 && strstr(run.err, said), "%s: \"%s\" is not in %s",
                words, said, run.err);
  ck_assert_msg(strstr(run.err, "; ") || strstr(run.err, " must "), "%s: does not say what to do: %s", words,
                run.err);
  ck_assert_msg(entries() == before, "%s: something was left behind", words);
  run_clear(&run);
}

static const struct {
  const char *words;
  int status;
  const char *said;
} REFUSED[] = {
    {"read bare.png" WRITE, 1, "bare.png: no colour card found in the photo"},
    {"check bare.png", 1, "bare.png: no colour card found in the photo; show the whole card"},
    {"read cut.png" WRITE, 1, "cut.png: the card is cut off by the frame"},
    {"read mirrored.png" WRITE, 1, "mirrored.png: the card appears mirrored"},
    {"check mirrored.png", 1, "mirrored.png: the card appears mirrored"},
    {"read clipped.png" WRITE, 1, "clipped.png: "},
    {"read folder" WRITE, 3, "folder is a directory"},
    {"read empty" WRITE, 3, "empty is empty"},
    {"check empty", 3, "empty is empty"},
    {"read good.png --card chart25" WRITE, 2, "no card is called \"chart25\""},
    {"read good.png --card card.txt" WRITE, 3, "card.txt: line 3: "},
    {"read good.png --card empty" WRITE, 3, "empty is empty"},
    {"read good.png --card folder" WRITE, 3, "folder is a directory"},
    {"read good.png --regions folder" WRITE, 3, "folder is a directory"},
    {"read good.png --regions empty" WRITE, 3, "empty is empty"},
    {"read good.png --icc folder.icc", 3, "folder.icc can't be written: Is a directory"},
    {"read good.png --corrected folder.png", 3, "folder.png can't be written: Is a directory"},
    {"read good.png --overlay folder.png", 3, "folder.png can't be written: Is a directory"},
    {"read good.png --icc folder", 2, "--icc folder does not end in .icc"},
    {"read good.png --icc nowhere/X.icc", 3, "nowhere/X.icc can't be written"},
    {"read good.png --corrected nowhere/X.jpg", 3, "nowhere/X.jpg can't be written"},
    {"read good.png --overlay nowhere/X.png", 3, "nowhere/X.png can't be written"},
    {"read good.png --patches 'nan,1 2,2 3,3 4,4'" WRITE, 2, "is not four places in pixels"},
    {"read good.png --patches '1e308,1 2,2 3,3 4,4'" WRITE, 2, "is not four places in pixels"},
    {"read good.png --patches '1,1 2,2 3,3'" WRITE, 2, "is not four places in pixels"},
    {"read good.png --patches '9,9 9,9 9,9 9,9'" WRITE, 2, "no four-sided figure"},
    {"read good.png --patches '9000,9000 9400,9000 9400,9300 9000,9300'" WRITE, 1,
     "no patch of the card lies in the frame"},
    {"read bare.png --patches '100,100 500,100 500,350 100,350'" WRITE, 1, "is no such card"},
    {"edge good.png", 2, "neither a line nor outlines are given"},
    {"edge good.png --line '20,450 700,450' --regions empty", 2, "--line and --regions are both given"},
    {"edge good.png --line '20,450 700,450 700,500'" PICTURE, 2, "is not two places in pixels"},
    {"edge good.png --line '20,450 700'" PICTURE, 2, "is not two places in pixels"},
    {"edge good.png --line 'here there'" PICTURE, 2, "is not two places in pixels"},
    {"edge good.png --line 'nan,450 700,450'" PICTURE, 2, "is not two places in pixels"},
    {"edge good.png --line '1e308,450 700,450'" PICTURE, 2, "is not two places in pixels"},
    {"edge good.png --line '20,450 740,450'" PICTURE, 1, "leaves the photo of 720 x 540 pixels"},
    {"edge good.png --line '-5,450 700,450'" PICTURE, 1, "leaves the photo of 720 x 540 pixels"},
    {"edge good.png --line '20,450 39,450'" PICTURE, 1, "the line is 19 pixels long, less than 20"},
    {"edge good.png --line '20,250 700,250'" PICTURE, 1, "the line crosses the card"},
    {"edge two.png --line '40,451 690,449'" PICTURE, 1, "the line runs along a boundary"},
    {"edge bare.png --line '20,450 700,450'" PICTURE, 1, "bare.png: no colour card found in the photo"},
    {"edge bare.png --line '20,450 700,450' --json" PICTURE, 1,
     "bare.png: no colour card found in the photo"},
    {"edge good.png two.png --line '20,450 700,450'", 2,
     "edge looks at one photo, and 2 are given; take them one by one"},
    {"edge good.png --line '20,450 700,450' --picture X.jpg", 2, "end the name in .svg or .png"},
    {"edge good.png --line '20,450 700,450' --picture good.png", 2, "would write over the photo"},
    {"edge good.png --line '20,450 700,450' --picture ./good.png", 2, "would write over the photo"},
    {"edge good.png --line '20,450 700,450' --picture nowhere/X.svg", 3, "nowhere/X.svg can't be written"},
    {"edge good.png --line '20,450 700,450' --card chart25", 2, "no card is called \"chart25\""},
    {"edge good.png --line '20,450 700,450' --patches '1,1 2,2 3,3'", 2, "is not four places in pixels"},
    {"edge good.png --regions empty", 3, "empty is empty"},
    {"edge gone.png --line '20,450 700,450'", 3, "gone.png"},
};

START_TEST(refused)
{
  expect_refused(REFUSED[_i].words, REFUSED[_i].status, REFUSED[_i].said);
}
END_TEST

START_TEST(clipped_patches_at_places_given)
{
  char words[300];

  snprintf(words, sizeof words, "read clipped.png%s" WRITE, corners);
  expect_refused(words, 1, "clipped.png: every patch of the card is clipped");
}
END_TEST

/* Region files that are malformed, 3, and regions that can't be measured, 1; the place of the fault is named. */
static const struct {
  const char *text;
  int status;
  const char *said;
} REGIONS[] = {
    {"region,shape,points\na,rectangle,680 500 90 90\n", 1, "a: the outline reaches to 770.0,500.0"},
    {"region,shape,points\na,rectangle,50 50 0 40\n", 1, "a: the outline holds less than one pixel"},
    {"region,shape,points\na,circle,50 50 0\n", 1, "a: the outline holds less than one pixel"},
    {"region,shape,points\na,polygon,\"50,50 90,90 90,50 50,90\"\n", 1, "a: the outline crosses itself"},
    {"region,moisture,shape,points\na,damp,circle,50 50 20\n", 3,
     "line 2, column 3: moisture 'damp' is not known"},
    {"region,shape,points\na,circle,nan 50 20\n", 3, "line 2, column 10: 'nan' is no number"},
    {"region,shape,points\na,circle,50 50 inf\n", 3, "line 2, column 10: 'inf' is no number"},
    {"region,shape,points\na,circle,1e308 50 20\n", 3, "line 2, column 10: 1e+308 is no place in a photo"},
    {"region,shape,points\na,circle,\"50 50 20\n", 3, "line 2, column 10: a quote is opened here"},
    {"region,shape,points\na,circle,50 five 20\n", 3, "line 2, column 10: 'five' is no number"},
    {"region,shape\na,circle\n", 3, "line 1"},
    {"[{\"type\": \"Annotation\",\n \"target\": }]\n", 3, "line 2, column 12: "},
    {"[1e999]\n", 3, "line 1, column "},
};

START_TEST(regions_refused)
{
  const char *name = REGIONS[_i].text[0] == '[' ? "regions.json" : "regions.csv";
  char words[80];

  write_text(name, REGIONS[_i].text);
  snprintf(words, sizeof words, "read good.png --json --regions %s", name);
  expect_refused(words, REGIONS[_i].status, REGIONS[_i].said);
}
END_TEST

/* Selectors of an annotation, likewise. */
static const struct {
  const char *selector, *value;
  int status;
  const char *said;
} ANNOTATION[] = {
    {"Fragment", "xywh=pixel:nan,50,40,40", 3, "annotation 1: 'nan' is no number"},
    {"Fragment", "xywh=pixel:1e308,50,40,40", 3, "annotation 1: 1e+308 is no place in a photo"},
    {"Fragment", "xywh=pixel:680,500,90,90", 1, "a: the outline reaches to 770.0,500.0"},
    {"Fragment", "xywh=pixel:50,50,0,40", 1, "a: the outline holds less than one pixel"},
    {"Svg", "<svg><polygon points='nan,1 2,3 4,5'/></svg>", 3, "annotation 1: 'nan' is no number"},
    {"Svg", "<svg><circle cx='1e308' cy='50' r='3'/></svg>", 3,
     "annotation 1: 1e+308 is no place in a photo"},
    {"Svg", "<svg><polygon points='50,50 90,90 90,50 50,90'/></svg>", 1, "a: the outline crosses itself"},
    {"Svg", "<svg><polygon points=", 3, "annotation 1: SVG, byte "},
};

START_TEST(annotations_refused)
{
  char text[400];

  snprintf(text, sizeof text,
           "[{\"@context\": \"http://www.w3.org/ns/anno.jsonld\", \"type\": \"Annotation\", \"id\": \"#a\", "
           "\"target\": "
           "{\"source\": \"good.png\", \"selector\": {\"type\": \"%sSelector\", \"value\": \"%s\"}}}]\n",
           ANNOTATION[_i].selector, ANNOTATION[_i].value);
  write_text("annotations.json", text);
  expect_refused("read good.png --json --regions annotations.json", ANNOTATION[_i].status,
                 ANNOTATION[_i].said);
}
END_TEST

/* Every picture of tests/refused/image, with the kind of fault its list names. */
START_TEST(pictures_refused)
{
  FILE *list = fopen(TAWNY_SOURCE_ROOT "/tests/refused/image/expected.txt", "r");
  char line[300], name[100], kind[40], words[1000];
  int count = 0;

  ck_assert_ptr_nonnull(list);
  while (fgets(line, sizeof line, list)) {
    if (line[0] != '#' && sscanf(line, "%99s %39s", name, kind) == 2) {
      snprintf(words, sizeof words, "read '" TAWNY_SOURCE_ROOT "/tests/refused/image/%s'" WRITE, name);
      expect_refused(words, strcmp(kind, "file") == 0 ? 3 : 1, name);
      count++;
    }
  }
  fclose(list);
  ck_assert_int_ge(count, 40);
}
END_TEST

/* Every card file of tests/refused/cards. */
START_TEST(cards_refused)
{
  DIR *list = opendir(TAWNY_SOURCE_ROOT "/tests/refused/cards");
  struct dirent *entry;
  char words[1000];
  int count = 0;

  ck_assert_ptr_nonnull(list);
  while ((entry = readdir(list))) {
    if (entry->d_name[0] != '.') {
      snprintf(words, sizeof words,
               "read good.png --card '" TAWNY_SOURCE_ROOT "/tests/refused/cards/%s'" WRITE, entry->d_name);
      expect_refused(words, 3, entry->d_name);
      count++;
    }
  }
  closedir(list);
  ck_assert_int_ge(count, 40);
}
END_TEST

START_TEST(a_list_with_a_photo_missing_in_the_middle)
{
  struct run run = run_tawny(folder, "read - --json", "good.png\ngone.png\nbare.png\ngood.png\n");
  static const char *const file[] = {"good.png", "gone.png", "bare.png", "good.png"};
  const char *line = run.out;

  ck_assert_int_eq(run.status, 3);
  ck_assert_msg(lines(run.err) == 2, "%s", run.err);
  ck_assert_uint_eq(lines(run.out), 4);
  for (size_t i = 0; i < 4; i++, line = strchr(line, '\n') + 1) {
    json_t *object = json_loadb(line, strcspn(line, "\n"), 0, NULL);
    ck_assert_ptr_nonnull(object);
    ck_assert_str_eq(json_string_value(json_object_get(json_object_get(object, "photo"), "file")), file[i]);
    ck_assert_int_eq(json_object_get(object, "error") != NULL, i == 1);
    json_decref(object);
  }
  run_clear(&run);
}
END_TEST

/* convert answers on standard output, a line each. */
START_TEST(numbers_that_are_none_are_not_converted)
{
  static const char input[] =
      "xyY nan 0.3 20\nxyY 1e308 1e308 1e308\nlab 50 nan 0\nlab 1e308 0 0\n"
      "lab 50 1e308 -1e308\nsrgb #1e308\nN 1e308/\n10YR 4/1e308\n10YR nan/3\n1e308YR 4/3\n";
  struct run run = run_tawny(folder, "convert", input);

  ck_assert_int_eq(run.status, 1);
  ck_assert_uint_eq(lines(run.out), lines(input));
  for (const char *line = run.out; *line; line = strchr(line, '\n') + 1) {
    ck_assert_msg(strncmp(line, "?\t", 2) == 0, "%s", line);
  }
  run_clear(&run);
}
END_TEST

#define COUNT(table) (int)(sizeof(table) / sizeof *(table))

int main(void)
{
  Suite *suite = suite_create("refusals");
  TCase *tcase = tcase_create("refusals");

  tcase_set_timeout(tcase, 240);
  tcase_add_unchecked_fixture(tcase, make_folder, remove_folder);
  tcase_add_loop_test(tcase, refused, 0, COUNT(REFUSED));
  tcase_add_test(tcase, clipped_patches_at_places_given);
  tcase_add_loop_test(tcase, regions_refused, 0, COUNT(REGIONS));
  tcase_add_loop_test(tcase, annotations_refused, 0, COUNT(ANNOTATION));
  tcase_add_test(tcase, pictures_refused);
  tcase_add_test(tcase, cards_refused);
  tcase_add_test(tcase, a_list_with_a_photo_missing_in_the_middle);
  tcase_add_test(tcase, numbers_that_are_none_are_not_converted);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
