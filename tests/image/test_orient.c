/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "image/image.h"
#include "pictures.h"
#include "suite.h"

/* EXIF 2.3, tag Orientation: which visual side of the picture the 0th row and the 0th column are. */
enum side { TOP, BOTTOM, LEFT, RIGHT };
static const struct {
  const char *name;
  enum side row, column;
} ORIENTATIONS[8] = {
    {"1, 0th row top, 0th column left", TOP, LEFT},
    {"2, 0th row top, 0th column right", TOP, RIGHT},
    {"3, 0th row bottom, 0th column right", BOTTOM, RIGHT},
    {"4, 0th row bottom, 0th column left", BOTTOM, LEFT},
    {"5, 0th row left, 0th column top", LEFT, TOP},
    {"6, 0th row right, 0th column top", RIGHT, TOP},
    {"7, 0th row right, 0th column bottom", RIGHT, BOTTOM},
    {"8, 0th row left, 0th column bottom", LEFT, BOTTOM},
};

/* Moves (X, Y) away from a side of a picture of that size by `steps`. */
static void go_from(enum side side, int steps, const struct image *image, int *X, int *Y)
{
  switch (side) {
  case TOP:
    *Y = steps;
    break;
  case BOTTOM:
    *Y = image->height - 1 - steps;
    break;
  case LEFT:
    *X = steps;
    break;
  case RIGHT:
    *X = image->width - 1 - steps;
    break;
  }
}

static void assert_upright(const struct image *image, int i, int width, int height, int tolerance)
{
  bool turned = ORIENTATIONS[i].row == LEFT || ORIENTATIONS[i].row == RIGHT;

  ck_assert_msg(image->width == (turned ? height : width) && image->height == (turned ? width : height),
                "%s: %d x %d", ORIENTATIONS[i].name, image->width, image->height);
  for (int k = 0; k < 3 * width * height; k++) {
    int x = k / 3 % width, y = k / 3 / width, c = k % 3, X = 0, Y = 0;
    go_from(ORIENTATIONS[i].row, y, image, &X, &Y);
    go_from(ORIENTATIONS[i].column, x, image, &X, &Y);
    int stored = (int)(image->bits == 8 ? picture_code(x, y, c) : picture_code16(x, y, c));
    int off = (int)image_code(image, X, Y, c) - stored;
    if (!(abs(off) <= tolerance)) {
      ck_abort_msg("%s: stored %d, %d is off by %d", ORIENTATIONS[i].name, x, y, off);
    }
  }
}

static void decode(struct file_bytes file, struct image *image)
{
  struct error error;

  ck_assert_msg(image_decode(&file, "a", image, &error), "%s", error.text);
  file_bytes_clear(&file);
}

static const struct picture_png KINDS[] = {
    {.colours = PNG_COLOR_TYPE_RGB},
    {.colours = PNG_COLOR_TYPE_RGB, .bits = 16},
    {.colours = PNG_COLOR_TYPE_RGBA, .opacity = 255},
    {.colours = PNG_COLOR_TYPE_RGB, .bits = 16, .interlaced = true},
    {.colours = PNG_COLOR_TYPE_RGB, .width = 16, .height = 64}, /* whole strips */
    {.colours = PNG_COLOR_TYPE_RGB, .width = 33, .height = 65},
};

START_TEST(png_is_turned_upright)
{
  uint8_t exif[PICTURE_EXIF_SIZE];

  picture_exif(_i + 1, exif);
  for (size_t k = 0; k < sizeof KINDS / sizeof *KINDS; k++) {
    struct picture_png kind = KINDS[k];
    struct image image;
    kind.exif = exif + 6;
    kind.exif_size = sizeof exif - 6;
    decode(picture_make_png(&kind), &image);
    assert_upright(&image, _i, kind.width ? kind.width : PICTURE_WIDTH,
                   kind.height ? kind.height : PICTURE_HEIGHT, 0);
    image_clear(&image);
  }
}
END_TEST

START_TEST(jpeg_is_turned_upright)
{
  uint8_t exif[PICTURE_EXIF_SIZE];
  struct image image;

  picture_exif(_i + 1, exif);
  decode(
      picture_make_jpeg(&(struct picture_jpeg){.space = JCS_YCbCr, .exif = exif, .exif_size = sizeof exif}),
      &image);
  assert_upright(&image, _i, PICTURE_WIDTH, PICTURE_HEIGHT, 3); /* rounding of a JPEG of quality 100 */
  image_clear(&image);
}
END_TEST

START_TEST(other_app1_segments_say_nothing)
{
  static const char xmp[] = "http://ns.adobe.com/xap/1.0/\0<x:xmpmeta/>";
  struct image image;

  decode(picture_make_jpeg(&(struct picture_jpeg){.space = JCS_YCbCr, .exif = xmp, .exif_size = sizeof xmp}),
         &image);
  assert_upright(&image, 0, PICTURE_WIDTH, PICTURE_HEIGHT, 3);
  image_clear(&image);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("image/orient");
  TCase *cases = tcase_create("orient");

  tcase_add_loop_test(cases, png_is_turned_upright, 0, 8);
  tcase_add_loop_test(cases, jpeg_is_turned_upright, 0, 8);
  tcase_add_test(cases, other_app1_segments_say_nothing);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
