/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "report/font.h"
#include "report/overlay.h"
#include "suite.h"

static struct error error;

static struct image grey_photo(int width, int height, int bits)
{
  struct image image = {.width = width, .height = height, .bits = bits};
  size_t bytes = (size_t)width * (size_t)height * 3 * (size_t)bits / 8;

  image.codes = malloc(bytes);
  ck_assert_ptr_nonnull(image.codes);
  memset(image.codes, 128, bytes);
  return image;
}

static bool is_colour(const struct overlay *overlay, int x, int y, struct overlay_colour c)
{
  return image_code(&overlay->canvas, x, y, 0) == c.red && image_code(&overlay->canvas, x, y, 1) == c.green &&
         image_code(&overlay->canvas, x, y, 2) == c.blue;
}

START_TEST(canvas_is_at_most_2400_pixels_long)
{
  static const struct {
    int width, height, bits, canvas_width, canvas_height;
  } size[] = {{6000, 4000, 8, 2400, 1600}, {1000, 2500, 8, 960, 2400}, {2400, 100, 16, 2400, 100},
              {700, 600, 8, 700, 600},     {300, 200, 16, 1200, 800},  {16, 16, 8, 1200, 1200},
              {599, 16, 8, 1198, 32}};
  struct image photo = grey_photo(size[_i].width, size[_i].height, size[_i].bits);
  struct overlay overlay;

  ck_assert_msg(overlay_begin(&photo, &overlay, &error), "%s", error.text);
  ck_assert_int_eq(overlay.canvas.width, size[_i].canvas_width);
  ck_assert_int_eq(overlay.canvas.height, size[_i].canvas_height);
  ck_assert_int_eq(overlay.canvas.bits, 8);
  for (int k = 0; k < 2; k++) {
    int x = k ? overlay.canvas.width - 1 : 0, y = k ? overlay.canvas.height - 1 : 0;
    ck_assert(is_colour(&overlay, x, y, (struct overlay_colour){128, 128, 128}));
  }
  overlay_clear(&overlay);
  image_clear(&photo);
}
END_TEST

START_TEST(smaller_pixels_are_means_and_the_profile_stays)
{
  struct image photo = grey_photo(4800, 16, 8);
  struct overlay overlay;

  for (int i = 0; i < 3 * 4800 * 16; i++) { /* a chessboard of single pixels */
    ((uint8_t *)photo.codes)[i] = (i / 3 % 4800 + i / 3 / 4800) % 2 ? 200 : 100;
  }
  photo.icc = malloc(8);
  ck_assert_ptr_nonnull(photo.icc);
  memcpy(photo.icc, "profile", 8);
  photo.icc_size = 8;
  ck_assert_msg(overlay_begin(&photo, &overlay, &error), "%s", error.text);
  ck_assert_int_eq(overlay.canvas.width, 2400);
  for (int x = 0; x < 2400; x++) {
    ck_assert(is_colour(&overlay, x, 3, (struct overlay_colour){150, 150, 150}));
  }
  ck_assert_uint_eq(overlay.canvas.icc_size, 8);
  ck_assert_mem_eq(overlay.canvas.icc, photo.icc, 8);
  overlay_clear(&overlay);
  image_clear(&photo);
}
END_TEST

START_TEST(outline_goes_through_its_places_and_leaves_its_inside)
{
  static const struct point place[4] = {{1000, 1000}, {3000, 1200}, {2800, 3000}, {900, 2500}};
  struct image photo = grey_photo(4800, 3600, 8);
  struct overlay overlay;
  struct overlay_colour colour = overlay_cycle(1);

  ck_assert_msg(overlay_begin(&photo, &overlay, &error), "%s", error.text);
  overlay_outline(&overlay, place, 4, "fill", colour);
  for (int k = 0; k < 4; k++) {
    struct point a = place[k], b = place[(k + 1) % 4];
    for (int n = 0; n <= 10; n++) {
      double t = n / 10.0;
      int x = (int)((a.x + t * (b.x - a.x)) / 2), y = (int)((a.y + t * (b.y - a.y)) / 2);
      ck_assert_msg(is_colour(&overlay, x, y, colour), "side %d at %.1f", k, t);
    }
  }
  for (int y = 650; y < 1200; y += 7) {
    for (int x = 550; x < 1300; x += 7) {
      ck_assert(is_colour(&overlay, x, y, (struct overlay_colour){128, 128, 128}));
    }
  }
  overlay_clear(&overlay);
  image_clear(&photo);
}
END_TEST

/* Shapes beyond the frame, of no size or of no number draw what lies inside and nothing else; the sanitizers watch. */
/* Narrow regions side by side, with labels wider than they are. */
START_TEST(labels_keep_clear_of_each_other)
{
  struct image photo = {.width = 900, .height = 700, .bits = 8, .codes = calloc(3, 900 * 700)};
  struct overlay overlay;

  ck_assert(photo.codes && overlay_begin(&photo, &overlay, &error));
  for (int i = 0; i < 12; i++) {
    double x = 300 + 25.0 * i;
    struct point place[4] = {{x, 200}, {x + 20, 200}, {x + 20, 400}, {x, 400}};
    overlay_outline(&overlay, place, 4, "1042-upper: 10YR 4/3", overlay_cycle((size_t)i));
  }
  ck_assert_uint_eq(overlay.labels, 12);
  for (size_t i = 0; i < overlay.labels; i++) {
    for (size_t j = 0; j < i; j++) {
      const struct overlay_label *a = &overlay.label[i], *b = &overlay.label[j];
      ck_assert_msg(a->right <= b->left || b->right <= a->left || a->bottom <= b->top || b->bottom <= a->top,
                    "labels %zu and %zu", i, j);
    }
  }
  overlay_clear(&overlay);
  image_clear(&photo);
}
END_TEST

START_TEST(odd_outlines_do_no_harm)
{
  static const struct point place[][4] = {{{-5000, -5000}, {9000, -20}, {9000, 9000}, {-10, 700}},
                                          {{100, 100}, {100, 100}, {100, 100}, {100, 100}},
                                          {{NAN, 100}, {200, 100}, {200, 200}, {100, 200}},
                                          {{1e300, 100}, {200, -1e300}, {200, 200}, {INFINITY, 200}},
                                          {{-500, -500}, {-400, -500}, {-400, -400}, {-500, -400}}};
  struct image photo = grey_photo(800, 600, 8);
  struct overlay overlay;

  ck_assert_msg(overlay_begin(&photo, &overlay, &error), "%s", error.text);
  for (size_t i = 0; i < sizeof place / sizeof *place; i++) {
    overlay_outline(&overlay, place[i], 4,
                    i % 2 ? ""
                          : "a label that is longer than the picture is wide, \xc3\xbc\xff\t and more of it "
                            "and more of it and more of it and more of it and more of it",
                    overlay_cycle(i));
  }
  overlay_outline(&overlay, place[0], 0, "nothing", overlay_cycle(0));
  ck_assert(is_colour(&overlay, 400, 400, (struct overlay_colour){128, 128, 128}));
  overlay_clear(&overlay);
  image_clear(&photo);
}
END_TEST

/* One patch of four left out: its diagonals are red, those of the others are not. */
START_TEST(patches_left_out_are_crossed)
{
  struct card_patch patch[4];
  struct card_patch_view view[4] = {
      {.cause = CARD_USED}, {.cause = CARD_CLIPPED}, {.cause = CARD_USED}, {.cause = CARD_USED}};
  struct card_reference card = {.patch = patch, .count = 4, .corner = {0, 1, 3, 2}};
  struct card_patches patches = {view, 4, 0};
  struct point corner[4] = {{200, 200}, {500, 200}, {500, 500}, {200, 500}};
  struct card_pose pose;
  struct image photo = grey_photo(700, 700, 8);
  struct overlay overlay;

  for (int i = 0; i < 4; i++) {
    patch[i] = (struct card_patch){.x_mm = i % 2 * 30, .y_mm = i / 2 * 30, .width_mm = 25, .height_mm = 25};
  }
  for (int k = 0; k < 4; k++) {
    card.corner_place[k] = (struct card_place){patch[card.corner[k]].x_mm, patch[card.corner[k]].y_mm};
  }
  ck_assert_msg(card_pose_from_corners(&card, corner, &pose, &error), "%s", error.text);
  ck_assert_msg(overlay_begin(&photo, &overlay, &error), "%s", error.text);
  overlay_card(&overlay, &card, &pose, &patches);
  for (int i = 0; i < 4; i++) { /* 10 pixels a mm: the read part is 150 wide */
    int x = (int)corner[0].x + i % 2 * 300 - 60, y = (int)corner[0].y + i / 2 * 300 - 60;
    bool crossed = image_code(&overlay.canvas, x, y, 0) > image_code(&overlay.canvas, x, y, 1) + 100;
    ck_assert_msg(crossed == (i == 1), "patch %d", i + 1);
    ck_assert_int_ne(image_code(&overlay.canvas, x - 15, y, 0), 128); /* its frame */
  }
  overlay_clear(&overlay);
  image_clear(&photo);
}
END_TEST

START_TEST(letters_differ_and_fill_their_box)
{
  char seen[95][FONT_WIDTH * FONT_ROWS];

  for (int c = 0x20; c < 0x7f; c++) {
    int dots = 0;
    for (int row = 0; row < FONT_ROWS; row++) {
      for (int column = 0; column < FONT_WIDTH; column++) {
        bool dot = font_dot((char)c, column, row);
        seen[c - 0x20][row * FONT_WIDTH + column] = dot;
        dots += dot;
      }
    }
    ck_assert_msg((dots == 0) == (c == ' '), "%c", c);
    for (int other = 0x20; other < c; other++) {
      ck_assert_msg(memcmp(seen[c - 0x20], seen[other - 0x20], sizeof seen[0]) != 0, "%c and %c", c, other);
    }
  }
}
END_TEST

/* Of all letters and digits, five hang below the line that the others stand on, by as much as there is. */
START_TEST(tails_hang_below_the_line)
{
  for (int c = '0'; c <= 'z'; c++) {
    bool base = false, below = false, lowest = false;
    for (int column = 0; column < FONT_WIDTH; column++) {
      base = base || font_dot((char)c, column, FONT_HEIGHT - 1);
      below = below || font_dot((char)c, column, FONT_HEIGHT);
      lowest = lowest || font_dot((char)c, column, FONT_ROWS - 1);
    }
    bool tail = strchr("gjpqy", c) != NULL;
    ck_assert_msg(!isalnum(c) || (base && below == tail && lowest == tail), "%c", c);
  }
}
END_TEST

START_TEST(text_is_counted_in_characters)
{
  const char *text = "a\xc3\xbc\xe2\x82\xac\n";

  ck_assert_uint_eq(font_length(""), 0);
  ck_assert_uint_eq(font_length(text), 4);
  ck_assert_int_eq(font_next(&text), 'a');
  ck_assert_int_eq(font_next(&text), '?');
  ck_assert_int_eq(font_next(&text), '?');
  ck_assert_int_eq(font_next(&text), '?');
  ck_assert_int_eq(*text, '\0');
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("report/overlay");
  TCase *cases = tcase_create("overlay");

  tcase_set_timeout(cases, 60);
  tcase_add_loop_test(cases, canvas_is_at_most_2400_pixels_long, 0, 7);
  tcase_add_test(cases, smaller_pixels_are_means_and_the_profile_stays);
  tcase_add_test(cases, outline_goes_through_its_places_and_leaves_its_inside);
  tcase_add_test(cases, labels_keep_clear_of_each_other);
  tcase_add_test(cases, odd_outlines_do_no_harm);
  tcase_add_test(cases, patches_left_out_are_crossed);
  tcase_add_test(cases, letters_differ_and_fill_their_box);
  tcase_add_test(cases, tails_hang_below_the_line);
  tcase_add_test(cases, text_is_counted_in_characters);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
