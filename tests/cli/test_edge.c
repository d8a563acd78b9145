/* SPDX-License-Identifier: MIT */
/* tawny edge as people and scripts meet it, on rendered faces with a boundary at a known place. */
#include <check.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "../compare/edge_scene.h"
#include "base/file.h"
#include "card/reference.h"
#include "image/image.h"
#include "render.h"
#include "run.h"
#include "suite.h"

/* The boundary stands at 200 pixels of it, a mm a pixel. */
#define LINE " --line '420,320 820,320'"

static char folder[64];

static void write_bytes(const char *name, const struct file_bytes *file)
{
  struct error error;

  ck_assert_msg(file_write(run_path(folder, name), file->data, file->size, &error), "%s", error.text);
}

static void write_scene(const char *name, const struct scene *scene)
{
  struct file_bytes file;
  struct error error;

  ck_assert_msg(render_file(scene, &file, &error), "%s", error.text);
  write_bytes(name, &file);
  file_bytes_clear(&file);
}

static void write_text(const char *name, const char *text)
{
  write_bytes(name, &(struct file_bytes){(uint8_t *)text, strlen(text)});
}

static void make_folder(void)
{
  struct scene scene;

  snprintf(folder, sizeof folder, "%s", run_folder());
  edge_scene(25, 0, 71, &scene);
  write_scene("two.png", &scene);
  edge_scene_plain(72, &scene);
  write_scene("one.png", &scene);
  write_text("regions.csv", "photo,region,context,shape,points\n"
                            "two.png,right,1042,polygon,\"620,250 860,250 860,600 620,600\"\n"
                            "other.png,far,1043,circle,9000 9000 50\n");
}

static void remove_folder(void)
{
  run_folder_remove(folder);
}

static json_t *read_json(const char *words)
{
  struct run run = run_tawny(folder, words, "");
  json_t *object = json_loads(run.out, 0, NULL);

  ck_assert_msg(run.status == 0, "%s: %s", words, run.err);
  ck_assert_ptr_nonnull(object);
  run_clear(&run);
  return object;
}

static const json_t *edge_of(const json_t *object)
{
  ck_assert_uint_eq(json_array_size(json_object_get(object, "edges")), 1);
  return json_array_get(json_object_get(object, "edges"), 0);
}

static double number(const json_t *object, const char *key, const char *inner, size_t index)
{
  const json_t *value = json_object_get(json_object_get(object, key), inner);

  ck_assert_msg(json_is_array(value), "%s.%s", key, inner);
  return json_number_value(json_array_get(value, index));
}

START_TEST(the_first_line_goes_on_the_sheet)
{
  struct run run = run_tawny(folder, "edge two.png" LINE, "");
  int place, low, high;

  ck_assert_msg(run.status == 0, "%s", run.err);
  ck_assert_msg(sscanf(run.out, "edge at %d mm (%d to %d) along the line: ", &place, &low, &high) == 3, "%s",
                run.out);
  ck_assert(low <= 202 && high >= 198 && low <= place && place <= high);
  ck_assert_ptr_nonnull(strstr(run.out, " cm, USDA and FAO 2006); "));
  ck_assert_ptr_nonnull(strstr(run.out, " CIEDE2000 ± "));
  ck_assert_ptr_nonnull(strstr(run.out, "patches of\n  40 x 40 mm"));
  run_clear(&run);
}
END_TEST

START_TEST(no_boundary_is_a_result)
{
  struct run run = run_tawny(folder, "edge one.png" LINE, "");

  ck_assert_int_eq(run.status, 0);
  ck_assert_msg(strncmp(run.out, "no boundary is told apart along the line (", 42) == 0, "%s", run.out);
  run_clear(&run);
}
END_TEST

static double shared_at(const json_t *side, size_t column, size_t channel)
{
  return json_number_value(
      json_array_get(json_array_get(json_object_get(side, "lab_shared"), column), channel));
}

/* Both sides tell what they share, column by column, and each leaves something of its own: LL, aa and bb of the covariance are more than
 * the columns' squares. */
static void expect_covariance(const json_t *edge)
{
  const size_t diagonal[3] = {0, 3, 5};
  const json_t *first = json_array_get(json_object_get(edge, "sides"), 0);
  size_t columns = json_array_size(json_object_get(first, "lab_shared"));

  ck_assert_uint_gt(columns, 0);
  for (size_t i = 0; i < 2; i++) {
    const json_t *side = json_array_get(json_object_get(edge, "sides"), i),
                 *covariance = json_object_get(side, "lab_covariance");
    ck_assert_uint_eq(json_array_size(covariance), 6);
    ck_assert_uint_eq(json_array_size(json_object_get(side, "lab_shared")), columns);
    for (size_t k = 0; k < 3; k++) {
      double own = json_number_value(json_array_get(covariance, diagonal[k]));
      for (size_t column = 0; column < columns; column++) {
        own -= shared_at(side, column, k) * shared_at(side, column, k);
      }
      ck_assert_msg(own > 0, "side %zu, channel %zu: %g of its own", i, k, own);
    }
  }
}

START_TEST(json_says_the_same)
{
  json_t *object = read_json("edge two.png --json" LINE);
  const json_t *edge = edge_of(object);

  ck_assert(json_is_true(json_object_get(edge, "found")));
  ck_assert_double_eq_tol(number(edge, "place", "pixels", 0), 200, 3);
  ck_assert_double_eq_tol(number(edge, "place", "mm", 0), 200, 5);
  ck_assert(number(edge, "thickness", "pixels", 1) <= 25 && 25 <= number(edge, "thickness", "pixels", 2));
  ck_assert_uint_eq(json_array_size(json_object_get(edge, "sides")), 2);
  expect_covariance(edge);
  ck_assert(json_is_true(json_object_get(json_object_get(edge, "difference"), "apart")));
  ck_assert(json_is_null(json_object_get(edge, "shadow_edge_pixels")));
  ck_assert(json_is_null(json_object_get(json_object_get(edge, "class"), "refused")));
  ck_assert_uint_gt(json_array_size(json_object_get(edge, "colours")), 100);
  ck_assert_double_eq(json_number_value(json_object_get(json_object_get(object, "scale"), "patch_mm")), 40);
  for (const char *const *key =
           (const char *const[]){"program", "photo", "card", "verdict", "warnings", NULL};
       *key; key++) {
    ck_assert_msg(json_object_get(object, *key) != NULL, "%s", *key);
  }
  json_decref(object);
}
END_TEST

START_TEST(json_of_no_boundary_has_nulls)
{
  json_t *object = read_json("edge one.png --json" LINE);
  const json_t *edge = edge_of(object);

  ck_assert(json_is_false(json_object_get(edge, "found")));
  ck_assert(json_is_null(json_object_get(json_object_get(edge, "place"), "pixels")));
  ck_assert(json_is_null(json_object_get(edge, "difference")));
  ck_assert(json_is_null(json_object_get(json_object_get(edge, "class"), "usda")));
  ck_assert_uint_eq(json_array_size(json_object_get(edge, "sides")), 0);
  json_decref(object);
}
END_TEST

START_TEST(outlines_in_place_of_a_line)
{
  json_t *object = read_json("edge two.png --regions regions.csv --json --picture plan.svg");
  const json_t *edge = edge_of(object);
  struct file_bytes bytes;
  struct error error;

  ck_assert_str_eq(json_string_value(json_object_get(edge, "region")), "right");
  ck_assert(json_is_true(json_object_get(edge, "found")));
  ck_assert_double_eq_tol(number(edge, "offset", "pixels", 0), 0,
                          3); /* its left side is drawn on the boundary */
  /* lines across its right and lower side leave the photo; of the others 240 of 590 pixels lie in one deposit */
  ck_assert_double_eq_tol(json_number_value(json_object_get(edge, "fades")), 0.41, 0.06);
  ck_assert_str_eq(json_string_value(json_object_get(edge, "course")), "broken");
  ck_assert(file_read(run_path(folder, "plan.svg"), 1 << 22, &bytes, &error));
  ck_assert_ptr_nonnull(strstr((const char *)bytes.data, ">right</text>"));
  file_bytes_clear(&bytes);
  json_decref(object);
}
END_TEST

START_TEST(outlines_in_words)
{
  struct run run = run_tawny(folder, "edge two.png --regions regions.csv", "");

  ck_assert_msg(run.status == 0, "%s", run.err);
  ck_assert_msg(strncmp(run.out, "1042 (right): edge broken, ", 27) == 0, "%s", run.out);
  ck_assert_ptr_nonnull(strstr(run.out, "fades along "));
  run_clear(&run);
}
END_TEST

START_TEST(the_picture_is_written)
{
  struct run svg = run_tawny(folder, "edge two.png" LINE " --picture a.svg", "");
  struct run png = run_tawny(folder, "edge one.png" LINE " --picture a.png", "");
  struct file_bytes bytes;
  struct image image;
  struct error error;

  ck_assert_int_eq(svg.status + png.status, 0);
  ck_assert(file_read(run_path(folder, "a.svg"), 1 << 22, &bytes, &error));
  ck_assert_ptr_nonnull(strstr((const char *)bytes.data, ">edge at "));
  ck_assert_ptr_nonnull(strstr((const char *)bytes.data, ">mm along the line, in the card's plane</text>"));
  file_bytes_clear(&bytes);
  ck_assert(file_read(run_path(folder, "a.png"), 1 << 22, &bytes, &error));
  ck_assert_msg(image_decode(&bytes, "a.png", &image, &error), "%s", error.text);
  image_clear(&image);
  file_bytes_clear(&bytes);
  run_clear(&svg);
  run_clear(&png);
}
END_TEST

/* The built-in chart's table, said to have no size. */
static void write_card_without_size(void)
{
  static const char keyword[] = "CARD_SCALE \"none\"\n";
  const char *path = TAWNY_SOURCE_ROOT "/calibration/cards/chart24-ohta.txt";
  struct file_bytes bytes;
  struct error error;
  char text[30000];

  ck_assert_msg(file_read(path, sizeof text - 100, &bytes, &error), "%s", error.text);
  const char *rest = strchr((const char *)bytes.data, '\n') + 1;
  snprintf(text, sizeof text, "CGATS.17\n%s%s", keyword, rest);
  write_text("unsized.txt", text);
  file_bytes_clear(&bytes);
}

START_TEST(without_a_size_there_is_no_class)
{
  write_card_without_size();
  struct run run = run_tawny(folder, "edge two.png --card unsized.txt" LINE, "");
  json_t *object = read_json("edge two.png --card unsized.txt --json" LINE);
  const json_t *edge = edge_of(object), *class = json_object_get(edge, "class");

  ck_assert_msg(run.status == 0, "%s", run.err);
  ck_assert_msg(strncmp(run.out, "edge at 2", 9) == 0 || strncmp(run.out, "edge at 1", 9) == 0, "%s",
                run.out);
  ck_assert_ptr_nonnull(strstr(run.out, " pixels thick, no class, the card's file gives no true size"));
  ck_assert(json_is_null(json_object_get(class, "usda")) &&
            json_is_string(json_object_get(class, "refused")));
  ck_assert(json_is_null(json_object_get(json_object_get(edge, "thickness"), "mm")));
  ck_assert(json_is_null(json_object_get(edge, "length_mm")));
  json_decref(object);
  run_clear(&run);
}
END_TEST

START_TEST(the_same_photo_gives_the_same_bytes)
{
  struct run a = run_tawny(folder, "edge two.png --json" LINE, ""),
             b = run_tawny(folder, "edge two.png --json" LINE, "");

  ck_assert_str_eq(a.out, b.out);
  run_clear(&a);
  run_clear(&b);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("edge");
  TCase *tcase = tcase_create("edge");

  tcase_set_timeout(tcase, 400);
  tcase_add_unchecked_fixture(tcase, make_folder, remove_folder);
  tcase_add_test(tcase, the_first_line_goes_on_the_sheet);
  tcase_add_test(tcase, no_boundary_is_a_result);
  tcase_add_test(tcase, json_says_the_same);
  tcase_add_test(tcase, json_of_no_boundary_has_nulls);
  tcase_add_test(tcase, outlines_in_place_of_a_line);
  tcase_add_test(tcase, outlines_in_words);
  tcase_add_test(tcase, the_picture_is_written);
  tcase_add_test(tcase, without_a_size_there_is_no_class);
  tcase_add_test(tcase, the_same_photo_gives_the_same_bytes);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
