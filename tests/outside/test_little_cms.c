/* SPDX-License-Identifier: MIT */
/* Little-CMS, with the file of --icc, reads the picture of --corrected as the program read the photo. */
#include <check.h>
#include <jansson.h>
#include <lcms2.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "../cli/photo.h"
#include "../cli/run.h"
#include "colour/difference.h"
#include "image/image.h"
#include "region/file.h"
#include "region/outline.h"
#include "suite.h"

/* CIEDE2000 that the profile may take from the camera model: what the project promises of --icc. */
static const double PROFILE = 0.1;
/* On top, for texture, as a share of the standard deviation of lightness in the region: a reading is the robust centre, here stands the
 * mean of what stays without the shares that the reading calls glint (the lightest) and shadow or specks (the darkest). They are
 * not the very same pixels, and the mean of a skewed texture is not its centre. Flat regions have no spread and no allowance.
 * Rounding to 8 bits needs none: it evens out over thousands of textured pixels, and the flat photo's light is even, so that its
 * codes stay. */
static const double TEXTURE = 0.1;

static const char *const SAMPLE[] = {"section-dry", "section-moist", "sherd"};

static char folder[64];

struct shown {
  struct vec3 *xyz; /* owned; of each pixel, 0..1 */
  size_t count;
};

static void make_folder(void)
{
  snprintf(folder, sizeof folder, "%s", run_folder());
}

static void remove_folder(void)
{
  run_folder_remove(folder);
}

static cmsHTRANSFORM open_profile(const char *name)
{
  cmsHPROFILE profile = cmsOpenProfileFromFile(run_path(folder, name), "r"), xyz = cmsCreateXYZProfile();
  ck_assert_ptr_nonnull(profile);
  cmsHTRANSFORM transform = cmsCreateTransform(profile, TYPE_RGB_DBL, xyz, TYPE_XYZ_DBL,
                                               INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE);

  ck_assert_ptr_nonnull(transform);
  cmsCloseProfile(profile);
  cmsCloseProfile(xyz);
  return transform;
}

static struct vec3 through(cmsHTRANSFORM transform, const double code[3])
{
  double rgb[3] = {code[0] / 255, code[1] / 255, code[2] / 255};
  cmsCIEXYZ c;

  cmsDoTransform(transform, rgb, &c, 1);
  return (struct vec3){{c.X, c.Y, c.Z}};
}

static struct lab lab_of(struct vec3 xyz)
{
  return colour_lab_from_xyz(colour_xyz_from_vec(vec3_scale(xyz, 100)), COLOUR_WHITE_D50);
}

static void add_pixel(struct shown *shown, const struct image *image, int x, int y, cmsHTRANSFORM transform)
{
  double code[3];

  for (int k = 0; k < 3; k++) {
    code[k] = image_code(image, x, y, k);
  }
  shown->xyz[shown->count++] = through(transform, code);
}

static struct shown look(const struct image *image, const struct region *region, cmsHTRANSFORM transform)
{
  double *crossing = calloc(region->vertices, sizeof *crossing);
  struct outline_span *span = calloc(region->vertices, sizeof *span);
  struct shown shown = {calloc((size_t)image->width * (size_t)image->height, sizeof *shown.xyz), 0};

  ck_assert(crossing && span && shown.xyz);
  for (int y = 0; y < image->height; y++) {
    size_t spans = outline_row(region, y, image->width, crossing, span);
    for (size_t i = 0; i < spans; i++) {
      for (int x = span[i].begin; x < span[i].end; x++) {
        add_pixel(&shown, image, x, y, transform);
      }
    }
  }
  ck_assert_uint_gt(shown.count, 0);
  free(crossing);
  free(span);
  return shown;
}

static int by_lightness(const void *first, const void *second)
{
  double a = ((const struct vec3 *)first)->v[1], b = ((const struct vec3 *)second)->v[1];

  return (a > b) - (a < b);
}

/* Mean without the darkest and the lightest. */
static struct lab middle(struct shown *shown, double darkest, double lightest)
{
  size_t begin = (size_t)(darkest * (double)shown->count),
         end = shown->count - (size_t)(lightest * (double)shown->count);
  struct vec3 sum = {{0, 0, 0}};

  qsort(shown->xyz, shown->count, sizeof *shown->xyz, by_lightness);
  for (size_t i = begin; i < end; i++) {
    sum = vec3_add(sum, shown->xyz[i]);
  }
  return lab_of(vec3_scale(sum, 1.0 / (double)(end - begin)));
}

/* Standard deviation of lightness. */
static double spread(const struct shown *shown)
{
  double sum = 0, squares = 0, count = (double)shown->count;

  for (size_t i = 0; i < shown->count; i++) {
    double lightness = lab_of(shown->xyz[i]).L;
    sum += lightness;
    squares += lightness * lightness;
  }
  return sqrt(fmax(squares / count - sum * sum / (count * count), 0));
}

static double number(const json_t *object, const char *key)
{
  const json_t *value = json_object_get(object, key);

  ck_assert_msg(json_is_number(value), "no number %s", key);
  return json_number_value(value);
}

static struct lab lab_read(const json_t *reading)
{
  const json_t *lab = json_object_get(reading, "lab_d50");

  ck_assert_uint_eq(json_array_size(lab), 3);
  return (struct lab){json_number_value(json_array_get(lab, 0)), json_number_value(json_array_get(lab, 1)),
                      json_number_value(json_array_get(lab, 2))};
}

static void expect_reading(const json_t *reading, const struct image *image, const struct region *region,
                           cmsHTRANSFORM transform)
{
  const json_t *out = json_object_get(reading, "left_out");
  struct shown shown = look(image, region, transform);
  struct lab seen = middle(&shown, number(out, "shadow") + number(out, "specks"), number(out, "glint"));
  double allowed = PROFILE + TEXTURE * spread(&shown);
  double apart = colour_de00(lab_read(reading), seen);

  printf("%s %s: %.3f apart, %.3f allowed\n", region->photo, region->label, apart, allowed);
  ck_assert_msg(apart <= allowed, "%s %s: %.3f apart, %.3f allowed", region->photo, region->label, apart,
                allowed);
  free(shown.xyz);
}

static json_t *read_photo(const char *photo, const char *regions)
{
  char words[1200];
  json_error_t fault;

  snprintf(words, sizeof words, "read '%s' --regions '%s' --json --icc out.icc --corrected out.png", photo,
           regions);
  struct run run = run_tawny(folder, words, "");
  ck_assert_msg(run.status == 0, "%s: %s", words, run.err);
  json_t *line = json_loads(run.out, 0, &fault);
  ck_assert_msg(line != NULL, "%s", fault.text);
  run_clear(&run);
  return line;
}

static struct image open_picture(const char *name)
{
  struct file_bytes bytes;
  struct image image;
  struct error error;

  ck_assert_msg(file_read(run_path(folder, name), IMAGE_FILE_MAX, &bytes, &error), "%s", error.text);
  ck_assert_msg(image_decode(&bytes, name, &image, &error), "%s", error.text);
  file_bytes_clear(&bytes);
  return image;
}

/* The region of that photo and label. */
static const struct region *find_region(const struct region_list *list, const char *photo, const char *label)
{
  for (size_t i = 0; i < list->count; i++) {
    if (strcmp(list->region[i].photo, photo) == 0 && strcmp(list->region[i].label, label) == 0) {
      return &list->region[i];
    }
  }
  ck_abort_msg("no region %s of %s", label, photo);
  return NULL;
}

static void expect_photo(const char *path, const char *regions, size_t count)
{
  struct region_list list;
  struct error error;
  json_t *line = read_photo(path, regions), *readings = json_object_get(line, "readings"), *reading;
  struct image image = open_picture("out.png");
  cmsHTRANSFORM transform = open_profile("out.icc");
  size_t i;

  ck_assert_msg(region_file_read(regions, &list, &error), "%s", error.text);
  ck_assert_uint_eq(json_array_size(readings), count);
  json_array_foreach(readings, i, reading)
  {
    const char *label = json_string_value(json_object_get(reading, "region"));
    expect_reading(reading, &image, find_region(&list, file_name(path), label), transform);
  }
  cmsDeleteTransform(transform);
  image_clear(&image);
  region_list_clear(&list);
  json_decref(line);
}

START_TEST(flat_soils)
{
  char photo[128], regions[128];
  struct error error;

  snprintf(photo, sizeof photo, "%s/good.png", folder);
  snprintf(regions, sizeof regions, "%s/regions.csv", folder);
  photo_write(photo, true);
  ck_assert(file_write(regions, PHOTO_REGIONS, strlen(PHOTO_REGIONS), &error));
  expect_photo(photo, regions, 2);
}
END_TEST

START_TEST(sample_photo)
{
  static const size_t count[] = {6, 6, 3};
  char photo[512];

  snprintf(photo, sizeof photo, TAWNY_SOURCE_ROOT "/samples/%s.jpg", SAMPLE[_i]);
  expect_photo(photo, TAWNY_SOURCE_ROOT "/samples/regions.csv", count[_i]);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("outside/little_cms");
  TCase *cases = tcase_create("little_cms");

  tcase_set_timeout(cases, 120);
  tcase_add_checked_fixture(cases, make_folder, remove_folder);
  tcase_add_test(cases, flat_soils);
  tcase_add_loop_test(cases, sample_photo, 0, sizeof SAMPLE / sizeof *SAMPLE);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
