/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "image/image.h"
#include "report/drawing.h"
#include "report/font.h"
#include "suite.h"

static const struct drawing_colour BLACK = {0, 0, 0}, RED = {200, 30, 20}, BLUE = {10, 40, 220};

static char folder[] = "/tmp/tawny-drawing-XXXXXX";
static char path[64];

static void make_folder(void)
{
  ck_assert_ptr_nonnull(mkdtemp(folder));
}

/* Fails where anything but the file last named is left. */
static void remove_folder(void)
{
  unlink(path);
  ck_assert_int_eq(rmdir(folder), 0);
  strcpy(folder + sizeof folder - 7, "XXXXXX");
}

static const char *in_folder(const char *name)
{
  snprintf(path, sizeof path, "%s/%s", folder, name);
  return path;
}

static struct file_bytes written(const struct drawing *drawing, const char *name)
{
  struct file_bytes bytes;
  struct error error = {0};

  ck_assert_msg(drawing_write(drawing, in_folder(name), &error), "%s", error.text);
  ck_assert(file_read(path, 1 << 24, &bytes, &error));
  return bytes;
}

static void write_image(const struct drawing *drawing, struct image *image)
{
  struct file_bytes bytes = written(drawing, "a.png");
  struct error error = {0};

  ck_assert_msg(image_decode(&bytes, "a.png", image, &error), "%s", error.text);
  file_bytes_clear(&bytes);
}

static bool is(const struct image *image, int x, int y, struct drawing_colour c)
{
  return image_code(image, x, y, 0) == c.red && image_code(image, x, y, 1) == c.green &&
         image_code(image, x, y, 2) == c.blue;
}

/* Ink in a frame: how much black covers the white, in pixels. */
static double ink(const struct image *image, int left, int top, int right, int bottom)
{
  double sum = 0;

  for (int y = top; y < bottom; y++) {
    for (int x = left; x < right; x++) {
      sum += 1 - image_code(image, x, y, 0) / 255.0;
    }
  }
  return sum;
}

static double all_ink(const struct image *image)
{
  return ink(image, 0, 0, image->width, image->height);
}

static void add_one_of_each(struct drawing *drawing)
{
  const struct point corner[3] = {{10, 60}, {40, 60}, {10, 90}}, line[3] = {{50, 60}, {70, 80}, {90, 60}};

  drawing_begin(drawing, 160, 100);
  drawing_rectangle(drawing, (struct point){5, 5}, 30, 20, RED);
  drawing_area(drawing, corner, 3, BLUE);
  drawing_path(drawing, line, 3, 2.5, BLACK);
  drawing_text(drawing, (struct point){60, 30}, DRAWING_MIDDLE, 14, BLACK, "a < b & \"c\" \xC2\xB1 2");
}

START_TEST(rectangles_stand_on_whole_pixels_and_meet_without_seam)
{
  struct drawing drawing;
  struct image image;

  drawing_begin(&drawing, 60, 40);
  drawing_rectangle(&drawing, (struct point){10.3, 5.4}, 10.4, 10, RED);
  drawing_rectangle(&drawing, (struct point){20.7, 5.4}, 10.4, 10, BLUE);
  drawing_rectangle(&drawing, (struct point){50, 30}, -5, -4, BLUE);
  write_image(&drawing, &image);
  ck_assert_int_eq(image.width, 60);
  ck_assert_int_eq(image.height, 40);
  for (int y = 0; y < 20; y++) {
    for (int x = 0; x < 40; x++) {
      bool row = y >= 5 && y < 15, red = row && x >= 10 && x < 21, blue = row && x >= 21 && x < 31;
      ck_assert_msg(is(&image, x, y,
                       red    ? RED
                       : blue ? BLUE
                              : (struct drawing_colour){255, 255, 255}),
                    "pixel %d, %d", x, y);
    }
  }
  ck_assert(is(&image, 45, 26, BLUE) && is(&image, 49, 29, BLUE) && !is(&image, 50, 30, BLUE));
  image_clear(&image);
  drawing_clear(&drawing);
}
END_TEST

START_TEST(a_thin_rectangle_still_shows)
{
  struct drawing drawing;
  struct image image;

  drawing_begin(&drawing, 30, 30);
  drawing_rectangle(&drawing, (struct point){10.1, 5}, 0.1, 10, BLACK);
  write_image(&drawing, &image);
  ck_assert_double_eq(all_ink(&image), 10);
  image_clear(&image);
  drawing_clear(&drawing);
}
END_TEST

/* Codes are whole: each pixel of an edge is off by up to half a 255th. */
START_TEST(an_area_covers_what_geometry_says)
{
  const struct point triangle[3] = {{10.2, 10.7}, {70.9, 30.1}, {22.4, 66.6}};
  const double area = fabs((60.7) * (55.9) - (12.2) * (19.4)) / 2;
  struct drawing drawing;
  struct image image;

  drawing_begin(&drawing, 80, 80);
  drawing_area(&drawing, triangle, 3, BLACK);
  write_image(&drawing, &image);
  ck_assert_double_eq_tol(all_ink(&image), area, 0.002 * area);
  ck_assert(is(&image, 30, 30, BLACK));
  ck_assert_double_eq(ink(&image, 0, 0, 80, 10), 0);
  image_clear(&image);
  drawing_clear(&drawing);
}
END_TEST

START_TEST(a_star_is_hollow_where_it_covers_itself_twice)
{
  struct point star[5];
  struct drawing drawing;
  struct image image;

  for (int i = 0; i < 5; i++) {
    star[i] = (struct point){40 + 30 * sin(i * 4 * M_PI / 5), 40 - 30 * cos(i * 4 * M_PI / 5)};
  }
  drawing_begin(&drawing, 80, 80);
  drawing_area(&drawing, star, 5, BLACK);
  write_image(&drawing, &image);
  ck_assert(is(&image, 40, 40, (struct drawing_colour){255, 255, 255}));
  ck_assert(is(&image, 40, 20, BLACK));
  image_clear(&image);
  drawing_clear(&drawing);
}
END_TEST

/* Length times thickness and a round cap, at any angle: the soft rim is symmetric. 2 % for the rim's corners. */
START_TEST(a_line_is_as_thick_at_every_angle)
{
  double angle = _i * M_PI / 12;
  const struct point line[2] = {{50 - 30 * cos(angle), 50 - 30 * sin(angle)},
                                {50 + 30 * cos(angle), 50 + 30 * sin(angle)}};
  struct drawing drawing;
  struct image image;

  drawing_begin(&drawing, 100, 100);
  drawing_path(&drawing, line, 2, 3, BLACK);
  write_image(&drawing, &image);
  ck_assert_double_eq_tol(all_ink(&image), 60 * 3 + M_PI * 1.5 * 1.5, 0.02 * 180);
  ck_assert(is(&image, 50, 50, BLACK) || is(&image, 49, 49, BLACK));
  image_clear(&image);
  drawing_clear(&drawing);
}
END_TEST

START_TEST(a_line_turning_back_is_no_darker)
{
  const struct point line[3] = {{10, 20}, {50, 20}, {10, 20}};
  struct drawing drawing;
  struct image once, twice;

  drawing_begin(&drawing, 60, 40);
  drawing_path(&drawing, line, 2, 1.5, BLACK);
  write_image(&drawing, &once);
  drawing_clear(&drawing);
  drawing_begin(&drawing, 60, 40);
  drawing_path(&drawing, line, 3, 1.5, BLACK);
  write_image(&drawing, &twice);
  ck_assert_mem_eq(once.codes, twice.codes, 3 * 60 * 40);
  image_clear(&once);
  image_clear(&twice);
  drawing_clear(&drawing);
}
END_TEST

static int dots_of(const char *text)
{
  int count = 0;

  while (*text) {
    char letter = font_next(&text);
    for (int i = 0; i < FONT_WIDTH * FONT_ROWS; i++) {
      count += font_dot(letter, i % FONT_WIDTH, i / FONT_WIDTH);
    }
  }
  return count;
}

START_TEST(text_stands_on_its_base_where_its_anchor_says)
{
  static const enum drawing_anchor anchor[3] = {DRAWING_LEFT, DRAWING_MIDDLE, DRAWING_RIGHT};
  const char *text = "HILH"; /* letters that fill their frame */
  double width = drawing_text_width(14, text);
  int left = (int)(100 - (_i * width) / 2 + 0.5);
  struct drawing drawing;
  struct image image;

  drawing_begin(&drawing, 200, 60);
  drawing_text(&drawing, (struct point){100, 40}, anchor[_i], 14, BLACK, text);
  write_image(&drawing, &image);
  ck_assert_double_eq(width, 2 * (4 * FONT_ADVANCE - 1));
  ck_assert_double_eq(all_ink(&image), 4.0 * dots_of(text));
  ck_assert_double_eq(ink(&image, left, 26, left + (int)width, 40), 4.0 * dots_of(text));
  ck_assert(is(&image, left, 26, BLACK) && is(&image, left, 39, BLACK));
  image_clear(&image);
  drawing_clear(&drawing);
}
END_TEST

START_TEST(what_lies_outside_is_cut_off)
{
  const struct point far[4] = {{-1e7, -1e7}, {1e7, -1e7}, {1e7, 1e7}, {-1e7, 1e7}};
  struct drawing drawing;
  struct image image;

  drawing_begin(&drawing, 30, 30);
  drawing_area(&drawing, far, 4, BLUE);
  drawing_rectangle(&drawing, (struct point){-1e7, 20}, 2e7, 1e7, RED);
  drawing_path(&drawing, far, 4, 5, BLACK);
  drawing_text(&drawing, (struct point){25, 5}, DRAWING_LEFT, 7, BLACK, "long text");
  drawing_text(&drawing, (struct point){-1e8, 5}, DRAWING_LEFT, 7, BLACK, "far");
  write_image(&drawing, &image);
  ck_assert(is(&image, 0, 19, BLUE) && is(&image, 29, 20, RED) && is(&image, 0, 29, RED));
  image_clear(&image);
  drawing_clear(&drawing);
}
END_TEST

START_TEST(places_that_are_no_numbers_are_left_out)
{
  const struct point bad[3] = {{1, 1}, {NAN, 2}, {3, INFINITY}}, good[2] = {{1, 1}, {2, 2}};
  struct drawing drawing;

  drawing_begin(&drawing, 30, 30);
  drawing_area(&drawing, bad, 3, BLACK);
  drawing_path(&drawing, bad, 3, 1, BLACK);
  drawing_path(&drawing, good, 2, NAN, BLACK);
  drawing_rectangle(&drawing, bad[1], 1, 1, BLACK);
  drawing_text(&drawing, bad[2], DRAWING_LEFT, 7, BLACK, "x");
  drawing_area(&drawing, good, 2, BLACK);
  drawing_path(&drawing, good, 1, 1, BLACK);
  ck_assert_uint_eq(drawing.count, 0);
  ck_assert(!drawing.failed);
  drawing_clear(&drawing);
}
END_TEST

/* A small reader of XML, enough to tell that every element is closed in order, every attribute quoted and given once, and every
 * reference one of the five that XML knows by itself. */
static const char *skip_name(const char *at)
{
  return at + strspn(at, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ-:");
}

static void check_characters(const char *from, const char *to)
{
  static const char *const known[] = {"&lt;", "&gt;", "&amp;", "&quot;", "&apos;"};

  for (const char *at = from; at < to; at++) {
    bool good = *at != '<' && ((unsigned char)*at >= 0x20 || *at == '\n');
    for (int i = 0; *at == '&' && i < 5; i++) {
      good = i == 0 ? false : good;
      good |= strncmp(at, known[i], strlen(known[i])) == 0;
    }
    ck_assert_msg(good, "bad character data at: %.40s", at);
  }
}

static const char *read_attributes(const char *at)
{
  char seen[16][24];
  int count = 0;

  while (*at == ' ') {
    const char *name = at + 1, *end = skip_name(name);
    ck_assert_msg(end > name && strncmp(end, "=\"", 2) == 0, "bad attribute at: %.40s", name);
    snprintf(seen[count], sizeof *seen, "%.*s", (int)(end - name), name);
    for (int i = 0; i < count; i++) {
      ck_assert_str_ne(seen[i], seen[count]);
    }
    count++;
    at = strchr(end + 2, '"');
    ck_assert_ptr_nonnull(at);
    check_characters(end + 2, at);
    at++;
  }
  return at;
}

/* Returns how many elements there are inside the root. */
static int check_xml(const char *at)
{
  char open[8][16];
  int depth = 0, count = -1;

  while (*at) {
    const char *text = at;
    at += strcspn(at, "<");
    check_characters(text, at);
    ck_assert(depth > 0 || text == at || strspn(text, "\n") == (size_t)(at - text));
    if (!*at) {
      break;
    }
    const char *name = at + 1 + (at[1] == '/'), *end = skip_name(name);
    ck_assert(end > name && depth < 8);
    if (at[1] == '/') {
      ck_assert_int_gt(depth, 0);
      depth--;
      ck_assert_msg(strlen(open[depth]) == (size_t)(end - name) &&
                        strncmp(open[depth], name, (size_t)(end - name)) == 0,
                    "%s is closed by %.20s", open[depth], name);
      at = end;
    } else {
      at = read_attributes(end);
      snprintf(open[depth++], sizeof *open, "%.*s", (int)(end - name), name);
      depth -= *at == '/';
      at += *at == '/';
      count++;
    }
    ck_assert_msg(*at == '>', "tag not ended at: %.40s", at);
    at++;
  }
  ck_assert_int_eq(depth, 0);
  return count;
}

START_TEST(svg_is_well_formed_whatever_the_texts_are)
{
  static const char *const nasty[] = {"",
                                      "</svg>",
                                      "a & b",
                                      "\"quoted\" 'too'",
                                      "]]>",
                                      "\x01\x1b[31m",
                                      "broken \xC3( \xFF",
                                      "\xEF\xBF\xBE",
                                      "\xEF\xBF\xBF end",
                                      "\xF0\x9F\x8E\xA8 colour",
                                      "&amp;"};
  struct drawing drawing;

  add_one_of_each(&drawing);
  for (size_t i = 0; i < sizeof nasty / sizeof *nasty; i++) {
    drawing_text(&drawing, (struct point){5, 5}, DRAWING_RIGHT, 10, RED, nasty[i]);
  }
  struct file_bytes bytes = written(&drawing, "a.svg");
  ck_assert_int_eq(check_xml((const char *)bytes.data), (int)(1 + drawing.count)); /* and the white ground */
  ck_assert_ptr_nonnull(strstr((const char *)bytes.data, "a &lt; b &amp; \"c\" \xC2\xB1 2</text>"));
  ck_assert_ptr_null(strstr((const char *)bytes.data, "\xEF\xBF\xBE"));
  file_bytes_clear(&bytes);
  drawing_clear(&drawing);
}
END_TEST

START_TEST(svg_says_the_shapes)
{
  static const char *const lines[] = {
      "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"160\" height=\"100\" viewBox=\"0 0 160 100\"",
      "<rect x=\"5.00\" y=\"5.00\" width=\"30.00\" height=\"20.00\" fill=\"#c81e14\"",
      "<polygon points=\"10.00,60.00 40.00,60.00 10.00,90.00\" fill=\"#0a28dc\"",
      "<polyline points=\"50.00,60.00 70.00,80.00 90.00,60.00\" stroke=\"#000000\" stroke-width=\"2.50\"",
      "<text x=\"60.00\" y=\"30.00\" font-size=\"19.44\" fill=\"#000000\" text-anchor=\"middle\">"};
  struct drawing drawing;

  add_one_of_each(&drawing);
  struct file_bytes bytes = written(&drawing, "a.SVG");
  for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
    ck_assert_msg(strstr((const char *)bytes.data, lines[i]) != NULL, "%s", lines[i]);
  }
  file_bytes_clear(&bytes);
  drawing_clear(&drawing);
}
END_TEST

START_TEST(the_same_drawing_gives_the_same_bytes)
{
  const char *name = _i ? "a.png" : "a.svg";
  struct drawing drawing[2];
  struct file_bytes bytes[2];

  for (int i = 0; i < 2; i++) {
    add_one_of_each(&drawing[i]);
    bytes[i] = written(&drawing[i], name);
  }
  ck_assert_uint_eq(bytes[0].size, bytes[1].size);
  ck_assert_mem_eq(bytes[0].data, bytes[1].data, bytes[0].size);
  for (int i = 0; i < 2; i++) {
    file_bytes_clear(&bytes[i]);
    drawing_clear(&drawing[i]);
  }
}
END_TEST

START_TEST(later_shapes_lie_on_top)
{
  struct drawing drawing;
  struct image image;

  drawing_begin(&drawing, 30, 30);
  drawing_rectangle(&drawing, (struct point){0, 0}, 20, 20, RED);
  drawing_rectangle(&drawing, (struct point){10, 10}, 20, 20, BLUE);
  write_image(&drawing, &image);
  ck_assert(is(&image, 9, 9, RED) && is(&image, 15, 15, BLUE));
  image_clear(&image);
  drawing_clear(&drawing);
}
END_TEST

START_TEST(swatches_are_srgb)
{
  struct drawing_colour grey = drawing_colour_of((struct lab){53.585, 0, 0});

  /* sRGB code 128: linear 0.21586, L* 53.585 (IEC 61966-2-1) */
  ck_assert_int_eq(grey.red, 128);
  ck_assert_int_eq(grey.green, 128);
  ck_assert_int_eq(grey.blue, 128);
}
END_TEST

static void expect_refusal(const struct drawing *drawing, const char *name, enum error_kind kind,
                           const char *code)
{
  struct error error = {0};

  ck_assert(!drawing_write(drawing, in_folder(name), &error));
  ck_assert_int_eq(error.kind, kind);
  ck_assert_str_eq(error.code, code);
}

START_TEST(every_error)
{
  struct drawing drawing;

  drawing_begin(&drawing, 30, 30);
  expect_refusal(&drawing, "a.jpg", ERROR_USAGE, "ending");
  expect_refusal(&drawing, "svg", ERROR_USAGE, "ending");
  expect_refusal(&drawing, "none/a.svg", ERROR_FILE, "unwritable");
  expect_refusal(&drawing, "none/a.png", ERROR_FILE, "unwritable");
  drawing.failed = true;
  expect_refusal(&drawing, "a.svg", ERROR_INTERNAL, "no-memory");
  drawing.failed = false;
  drawing.width = DRAWING_SIDE_MAX + 1;
  expect_refusal(&drawing, "a.png", ERROR_UNMEASURABLE, "too-large");
  drawing.width = NAN;
  expect_refusal(&drawing, "a.png", ERROR_UNMEASURABLE, "too-large");
  drawing.width = DRAWING_SIDE_MAX + 1;
  struct file_bytes bytes = written(&drawing, "a.svg"); /* has no such limit */
  file_bytes_clear(&bytes);
  drawing_clear(&drawing);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("drawing");
  TCase *tcase = tcase_create("drawing");

  tcase_add_checked_fixture(tcase, make_folder, remove_folder);
  tcase_add_test(tcase, rectangles_stand_on_whole_pixels_and_meet_without_seam);
  tcase_add_test(tcase, a_thin_rectangle_still_shows);
  tcase_add_test(tcase, an_area_covers_what_geometry_says);
  tcase_add_test(tcase, a_star_is_hollow_where_it_covers_itself_twice);
  tcase_add_loop_test(tcase, a_line_is_as_thick_at_every_angle, 0, 12);
  tcase_add_test(tcase, a_line_turning_back_is_no_darker);
  tcase_add_loop_test(tcase, text_stands_on_its_base_where_its_anchor_says, 0, 3);
  tcase_add_test(tcase, what_lies_outside_is_cut_off);
  tcase_add_test(tcase, places_that_are_no_numbers_are_left_out);
  tcase_add_test(tcase, svg_is_well_formed_whatever_the_texts_are);
  tcase_add_test(tcase, svg_says_the_shapes);
  tcase_add_loop_test(tcase, the_same_drawing_gives_the_same_bytes, 0, 2);
  tcase_add_test(tcase, later_shapes_lie_on_top);
  tcase_add_test(tcase, swatches_are_srgb);
  tcase_add_test(tcase, every_error);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
