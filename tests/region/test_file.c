/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/text.h"
#include "region/file.h"
#include "suite.h"

/* Writes the bytes to a file of this ending and reads it as regions. */
static bool read_bytes(const char *bytes, size_t size, const char *ending, struct region_list *list,
                       struct error *error)
{
  char path[64];

  snprintf(path, sizeof path, "regions-XXXXXX%s", ending);
  int descriptor = mkstemps(path, (int)strlen(ending));
  ck_assert_int_ge(descriptor, 0);
  ck_assert_int_eq(write(descriptor, bytes, size), (ssize_t)size);
  close(descriptor);
  *error = (struct error){0};
  bool done = region_file_read(path, list, error);
  ck_assert(done || strncmp(error->text, path, strlen(path)) == 0);
  unlink(path);
  return done;
}

static bool read_text(const char *text, const char *ending, struct region_list *list, struct error *error)
{
  return read_bytes(text, strlen(text), ending, list, error);
}

static struct region_list read_good(const char *text, const char *ending)
{
  struct region_list list;
  struct error error;

  ck_assert_msg(read_text(text, ending, &list, &error), "%s", error.text);
  return list;
}

START_TEST(csv_with_every_column)
{
  struct region_list list =
      read_good("photo,region,context,find,zone,role,moisture,shape,points\n"
                "trench 4.jpg,1042a,1042,,,fill,moist,rectangle,120 80 60 40\n"
                "sherd.jpg,\"core, \"\"fresh\"\"\",,sf17,core,,dry,circle,\"10.5,20,5\"\n"
                "trench 4.jpg,1043,1043,,,surrounding deposit,,polygon,\"1,2 30,4 5,60\"\n",
                ".csv");
  const struct region *r = list.region;

  ck_assert_uint_eq(list.count, 3);
  ck_assert_str_eq(r[0].photo, "trench 4.jpg");
  ck_assert_str_eq(r[0].label, "1042a");
  ck_assert_str_eq(r[0].context, "1042");
  ck_assert_str_eq(r[0].find, "");
  ck_assert_str_eq(r[0].role, "fill");
  ck_assert_int_eq(r[0].moisture, MOISTURE_MOIST);
  ck_assert_int_eq(r[0].shape, REGION_RECTANGLE);
  ck_assert_double_eq(region_area(&r[0]), 2400);
  ck_assert_double_eq(r[0].vertex[2].x, 180);
  ck_assert_str_eq(r[1].label, "core, \"fresh\"");
  ck_assert_str_eq(r[1].find, "sf17");
  ck_assert_str_eq(r[1].zone, "core");
  ck_assert_int_eq(r[1].moisture, MOISTURE_DRY);
  ck_assert_int_eq(r[1].shape, REGION_CIRCLE);
  ck_assert_double_eq_tol(region_area(&r[1]), M_PI * 25, 1e-9);
  ck_assert_int_eq(r[2].moisture, MOISTURE_UNSTATED);
  ck_assert_uint_eq(r[2].vertices, 3);
  ck_assert_double_eq(r[2].vertex[1].x, 30);
  ck_assert_double_eq(r[2].vertex[1].y, 4);
  region_list_clear(&list);
}
END_TEST

/* One rectangle "a" 1 2 3 4, written in ways that mean the same. */
static const struct {
  const char *name, *text;
} SAME[] = {
    {"plain", "region,shape,points\na,rectangle,1 2 3 4\n"},
    {"no line feed at the end", "region,shape,points\na,rectangle,1 2 3 4"},
    {"carriage returns", "region,shape,points\r\na,rectangle,1 2 3 4\r\n"},
    {"carriage returns alone", "region,shape,points\ra,rectangle,1 2 3 4\r"},
    {"byte order mark", "\xef\xbb\xbfregion,shape,points\na,rectangle,1 2 3 4\n"},
    {"other order", "points,region,shape\n1 2 3 4,a,rectangle\n"},
    {"capitals", "Region,SHAPE,Points\na,Rectangle,1 2 3 4\n"},
    {"quoted header", "\"region\",\"shape\",\"points\"\na,rectangle,1 2 3 4\n"},
    {"blanks round fields", " region , shape,points\n  a ,rectangle , 1 2 3 4 \n"},
    {"blanks round quotes", "region,shape,points\na,rectangle, \"1,2,3,4\" \n"},
    {"commas and blanks", "region,shape,points\na,rectangle,\"1, 2 ,3 , 4\"\n"},
    {"empty lines", "\nregion,shape,points\n\n\na,rectangle,1 2 3 4\n\n,,\n"},
    {"stranger's column", "region,notes,shape,points\na,\"a long, note\nof two lines\",rectangle,1 2 3 4\n"},
    {"exponents", "region,shape,points\na,rectangle,1e0 .2e1 +3 4.0\n"},
};

START_TEST(csv_written_otherwise)
{
  struct region_list list;
  struct error error;

  ck_assert_msg(read_text(SAME[_i].text, ".csv", &list, &error), "%s: %s", SAME[_i].name, error.text);
  ck_assert_uint_eq(list.count, 1);
  ck_assert_str_eq(list.region[0].label, "a");
  ck_assert_double_eq(list.region[0].vertex[0].x, 1);
  ck_assert_double_eq(list.region[0].vertex[0].y, 2);
  ck_assert_double_eq(list.region[0].vertex[2].x, 4);
  ck_assert_double_eq(list.region[0].vertex[2].y, 6);
  region_list_clear(&list);
}
END_TEST

#define HEAD "region,shape,points\n"
#define FACTS "region,context,moisture,shape,points\n"

static const struct {
  const char *text, *says;
} CSV_FAULTS[] = {
    {"\n\n", "lacks the column 'region'"},
    {"\x89PNG\r\n\x1a\n", "this is a picture; name the file of its outlines"},
    {"\xff\xd8\xff\xe0", "this is a picture; name the file of its outlines"},
    {"region,points\na,1 2 3 4\n", "line 1, column 1: the header lacks the column 'shape'"},
    {"region;shape;points\na;circle;1 2 3\n", "lacks the column 'region'"},
    {"region,shape,points,points\n", "line 1, column 21: the column stands there twice"},
    {"region,shape,points,moistur\n", "line 1, column 21: the column 'moistur' is almost 'moisture'"},
    {"regions,shape,points\n", "'regions' is almost 'region'"},
    {"region,shape,points,fnid\n", NULL}, /* two letters off: a stranger's */
    {HEAD "a,circle,1 2 3,4\n", "line 2, column 1: 4 fields, but the header has 3; put quotes"},
    {HEAD "a,circle\n", "line 2, column 1: 2 fields"},
    {HEAD "a,circle,\"1 2 3\n", "line 2, column 10: a quote is opened here and never closed"},
    {HEAD "a,circle,\"1 2 3\" 4\n", "line 2, column 10: text stands behind the closing quote"},
    {HEAD "a,circle,1 \"2\" 3\n", "line 2, column 10: a quote stands inside"},
    {HEAD ",circle,1 2 3\n", "line 2, column 1: the region has no label"},
    {HEAD "a,square,1 2 3\n",
     "line 2, column 3: shape 'square' is not known; write rectangle, circle or polygon"},
    {HEAD "a,,1 2 3\n", "shape '' is not known"},
    {HEAD "a,circle,\n", "0 numbers are given; a circle takes x y r"},
    {HEAD "a,circle,1 2\n", "2 numbers are given; a circle takes x y r"},
    {HEAD "a,circle,1 2 3 4\n", "4 numbers are given"},
    {HEAD "a,rectangle,1 2 3\n", "3 numbers are given; a rectangle takes x y w h"},
    {HEAD "a,polygon,1 2 3\n", "3 numbers are given; a polygon takes pairs x,y"},
    {HEAD "a,polygon,\n", "0 numbers are given"},
    {HEAD "a,circle,1 2 x\n", "line 2, column 10: 'x' is no number"},
    {HEAD "a,circle,1 2 3px\n", "'3px' is no number"},
    {HEAD "a,circle,nan 2 3\n", "'nan' is no number"},
    {HEAD "a,circle,1 inf 3\n", "'inf' is no number"},
    {HEAD "a,circle,1 0x10 3\n", "'0x10' is no number"},
    {HEAD "a,circle,1 1e999 3\n", "'1e999' is no number"},
    {HEAD "a,circle,1 1e308 3\n", "1e+308 is no place in a photo"},
    {HEAD "a,circle,1 2 -3\n", "the radius -3 is negative"},
    {HEAD "a,rectangle,1 2 -3 4\n", "the width -3 is negative"},
    {HEAD "a,circle,\"1,,2 3\"\n", "'' is no number"},
    {HEAD "a,circle,\"1,2,3,\"\n", "'' is no number"},
    {HEAD "a,circle,\"1;2;3\"\n", "'1;2;3' is no number"},
    {HEAD "b,circle,1 2 3\na,circle,1 2 3\n\na,circle,4 5 6\n",
     "line 5: the region a stands already in line 3"},
    {FACTS "a,1,damp,circle,1 2 3\n",
     "line 2, column 5: moisture 'damp' is not known; write dry, moist, wet or leave"},
    {FACTS "a,\"10\n42\",,circle,1 2 3\n", "line 2, column 3: context holds a line break"},
    {FACTS "a,\x1b[31m,,circle,1 2 3\n", "context holds a line break or control character"},
    {FACTS "a,\xc2\x9b,,circle,1 2 3\n", "control character"},
    {FACTS "a,0123456789012345678901234567890123456789012345678901234567890123456789,,circle,1 2 3\n",
     "line 2, column 3: context is longer than 63 bytes"},
    {HEAD "\xff,circle,1 2 3\n", "line 2, byte 1 is no UTF-8"},
    {HEAD "a\xc3,circle,1 2 3\n", "line 2, byte 2 is no UTF-8"},
    {HEAD "\xc0\x80,circle,1 2 3\n", "no UTF-8"},
    {HEAD "\xed\xa0\x80,circle,1 2 3\n", "no UTF-8"},
    {HEAD "\xc3\xa4\xc3\xb6,circle,x\n", "line 2, column 11: 'x' is no number"}, /* columns are characters */
};

START_TEST(csv_faults)
{
  struct region_list list;
  struct error error;
  bool done = read_text(CSV_FAULTS[_i].text, ".csv", &list, &error);

  if (!CSV_FAULTS[_i].says) {
    ck_assert_msg(done, "%s", error.text);
    region_list_clear(&list);
    return;
  }
  ck_assert_msg(!done, "read: %s", CSV_FAULTS[_i].text);
  ck_assert_int_eq(error.kind, ERROR_FILE);
  ck_assert_str_eq(error.code, "bad-regions");
  ck_assert_msg(strstr(error.text, CSV_FAULTS[_i].says), "%s", error.text);
  ck_assert_msg(strchr(error.text, ';'), "says what to do: %s", error.text);
  ck_assert_uint_eq(list.count, 0);
}
END_TEST

START_TEST(nul_byte)
{
  static const char bytes[] = HEAD "a\0b,circle,1 2 3\n";
  struct region_list list;
  struct error error;

  ck_assert(!read_bytes(bytes, sizeof bytes - 1, ".csv", &list, &error));
  ck_assert_msg(strstr(error.text, "line 2, byte 2 is no UTF-8"), "%s", error.text);
}
END_TEST

START_TEST(more_columns_than_a_region_file_has)
{
  struct text text = {0};
  struct region_list list;
  struct error error;

  for (int i = 0; i < 300; i++) {
    text_add(&text, "x,");
  }
  ck_assert(!read_text(text.data, ".csv", &list, &error));
  ck_assert_msg(strstr(error.text, "more than 256 fields"), "%s", error.text);
  text_clear(&text);
}
END_TEST

/* The same label in different photos is no clash; a region of any photo clashes with all. */
START_TEST(labels_are_unique_within_a_photo)
{
  struct region_list list = read_good("photo," HEAD "p.jpg,a,circle,1 2 3\nq.jpg,a,circle,1 2 3\n", ".csv");
  struct error error;

  ck_assert_uint_eq(list.count, 2);
  region_list_clear(&list);
  ck_assert(
      !read_text("photo," HEAD "p.jpg,a,circle,1 2 3\nx/p.jpg,a,circle,1 2 3\n", ".csv", &list, &error));
  ck_assert(!read_text("photo," HEAD "p.jpg,a,circle,1 2 3\nq.jpg,a,circle,1 2 3\n,a,circle,1 2 3\n", ".csv",
                       &list, &error));
  ck_assert_msg(strstr(error.text, "line 4") || strstr(error.text, "line 2"), "%s", error.text);
}
END_TEST

START_TEST(header_alone_is_an_empty_list)
{
  struct region_list list = read_good(HEAD, ".csv");

  ck_assert_uint_eq(list.count, 0);
  region_list_clear(&list);
}
END_TEST

/* Files are told apart by their ending, else by their first character. */
START_TEST(kinds_of_files)
{
  struct region_list list = read_good(" [] ", ".txt");

  ck_assert_uint_eq(list.count, 0);
  region_list_clear(&list);
  list = read_good(HEAD "a,circle,1 2 3", "");
  ck_assert_uint_eq(list.count, 1);
  region_list_clear(&list);
  struct error error;
  ck_assert(!read_text("[]", ".CSV", &list, &error) && strstr(error.text, "lacks the column"));
  ck_assert(!read_text(HEAD, ".JSON", &list, &error) && strstr(error.text, "correct the JSON"));
  ck_assert(!region_file_read("no-such-file.csv", &list, &error) && error.kind == ERROR_FILE);
}
END_TEST

#define TAG(text) "{\"type\":\"TextualBody\",\"purpose\":\"tagging\",\"value\":\"" text "\"}"
#define XYWH(text) "{\"type\":\"FragmentSelector\",\"value\":\"" text "\"}"
#define SVG(text) "{\"type\":\"SvgSelector\",\"value\":\"" text "\"}"
#define TARGET(selector) "\"target\":{\"source\":\"p.jpg\",\"selector\":" selector "}"

START_TEST(annotation_with_every_fact)
{
  struct region_list list = read_good(
      "{\"@context\":\"http://www.w3.org/ns/anno.jsonld\",\"id\":\"#x1\",\"type\":\"Annotation\","
      "\"motivation\":\"tagging\",\"body\":[" TAG("region=1042a") "," TAG("context = 1042") "," TAG(
          "role="
          "fill") "," TAG("find=sf3") "," TAG("zone=core") "," TAG("Moisture=moist") "," TAG("weather="
                                                                                             "rain") "," TAG("unsure") ",{\"type\":"
                                                                                                                       "\"TextualBody\","
                                                                                                                       "\"purpose\":"
                                                                                                                       "\"commenting\","
                                                                                                                       "\"value\":\"role="
                                                                                                                       "wall\"}],"
                                                                                                                       "\"target\":{"
                                                                                                                       "\"source\":"
                                                                                                                       "\"https://"
                                                                                                                       "example.org/dig/"
                                                                                                                       "trench%204.jpg?"
                                                                                                                       "size=full\","
                                                                                                                       "\"selector\":"
                                                                                                                       "{\"type\":"
                                                                                                                       "\"FragmentSelecto"
                                                                                                                       "r\","
                                                                                                                       "\"conformsTo\":"
                                                                                                                       "\"http://"
                                                                                                                       "www.w3.org/TR/"
                                                                                                                       "media-frags/\","
                                                                                                                       "\"value\":\"xywh="
                                                                                                                       "pixel:120,80,60,"
                                                                                                                       "40\"}}}",
      ".json");
  const struct region *r = list.region;

  ck_assert_uint_eq(list.count, 1);
  ck_assert_str_eq(r->label, "1042a");
  ck_assert_str_eq(r->context, "1042");
  ck_assert_str_eq(r->role, "fill");
  ck_assert_str_eq(r->find, "sf3");
  ck_assert_str_eq(r->zone, "core");
  ck_assert_int_eq(r->moisture, MOISTURE_MOIST);
  ck_assert_str_eq(r->photo, "trench 4.jpg");
  ck_assert_double_eq(r->vertex[0].x, 120);
  ck_assert_double_eq(r->vertex[2].y, 120);
  region_list_clear(&list);
}
END_TEST

/* One rectangle 1 2 3 4 on p.jpg, or on any photo. */
static const char *const SAME_ANNOTATION[] = {
    "{" TARGET(XYWH("xywh=pixel:1,2,3,4")) "}",
    "{" TARGET(XYWH("xywh=1,2,3,4")) "}",
    "{" TARGET(XYWH("t=1&xywh=1,2,3,4&track=a")) "}",
    "{" TARGET("[" XYWH("xywh=1,2,3,4") "]") "}",
    "{" TARGET("[{\"type\":\"CssSelector\",\"value\":\"x\"}," XYWH("xywh=1,2,3,4") "]") "}",
    "{" TARGET(SVG("<svg><rect x='1' y='2' width='3' height='4'/></svg>")) "}",
    "{" TARGET(SVG("<polygon points='1,2 4,2 4,6 1,6'/>")) "}",
    "{\"target\":\"p.jpg#xywh=1,2,3,4\"}",
    "{\"target\":[\"http://h/p.jpg#xywh=pixel:1,2,3,4\"]}",
    "{\"target\":{\"id\":\"p.jpg#xywh=1,2,3,4\"}}",
    "{\"target\":{\"selector\":" XYWH("xywh=1,2,3,4") "}}",
    "{\"target\":{\"source\":{\"id\":\"http://h/a/p.jpg\"},\"selector\":" XYWH("xywh=1,2,3,4") "}}",
    "[{" TARGET(XYWH("xywh=1,2,3,4")) "}]",
    "{\"type\":\"AnnotationPage\",\"items\":[{" TARGET(XYWH("xywh=1,2,3,4")) "}]}",
    "{\"type\":\"AnnotationCollection\",\"first\":{\"items\":[{" TARGET(XYWH("xywh=1,2,3,4")) "}]}}",
    "{\"type\":[\"Annotation\"],\"body\":\"http://h/text\"," TARGET(XYWH("xywh=1,2,3,4")) "}",
    "\xef\xbb\xbf{" TARGET(XYWH("xywh=1,2,3,4")) "}",
};

START_TEST(annotation_written_otherwise)
{
  struct region_list list;
  struct error error;

  ck_assert_msg(read_text(SAME_ANNOTATION[_i], ".json", &list, &error), "%s: %s", SAME_ANNOTATION[_i],
                error.text);
  ck_assert_uint_eq(list.count, 1);
  ck_assert_str_eq(list.region[0].label, "region 1");
  ck_assert(list.region[0].photo[0] == '\0' || strcmp(list.region[0].photo, "p.jpg") == 0);
  ck_assert_double_eq(list.region[0].vertex[0].x, 1);
  ck_assert_double_eq(list.region[0].vertex[0].y, 2);
  ck_assert_double_eq(list.region[0].vertex[2].x, 4);
  ck_assert_double_eq(list.region[0].vertex[2].y, 6);
  region_list_clear(&list);
}
END_TEST

/* No label: the context, the end of the id, or the number; and where two would be called alike, the number behind. */
START_TEST(annotations_without_labels)
{
  struct region_list list = read_good(
      "[{\"body\":" TAG("context=7") "," TARGET(XYWH(
          "xywh=1,2,3,4")) "},"
                           "{\"id\":\"http://h/notes#a9\"," TARGET(XYWH(
                               "xywh=1,2,3,4")) "},"
                                                "{\"body\":" TAG("context=7") "," TARGET(XYWH(
                                                    "xywh=1,2,3,4")) "},"
                                                                     "{\"body\":" TAG("region=8") "," TARGET(XYWH(
                                                                         "xywh=1,2,3,4")) "},"
                                                                                          "{\"body\":" TAG(
                                                                                              "c"
                                                                                              "o"
                                                                                              "n"
                                                                                              "t"
                                                                                              "e"
                                                                                              "x"
                                                                                              "t"
                                                                                              "="
                                                                                              "8") "," TARGET(XYWH("xywh=1,2,"
                                                                                                                   "3,4")) "},"
                                                                                                                           "{" TARGET(XYWH(
                                                                                                                               "xywh=1,2,3,4")) "}]",
      ".json");
  static const char *const label[] = {"7 #1", "a9", "7 #3", "8", "8 #5", "region 6"};

  ck_assert_uint_eq(list.count, 6);
  for (int i = 0; i < 6; i++) {
    ck_assert_str_eq(list.region[i].label, label[i]);
  }
  region_list_clear(&list);
}
END_TEST

static const struct {
  const char *text, *says;
} JSON_FAULTS[] = {
    {"{\"target\": ", "line 1, column 11"},
    {"[\n{\"a\":1,}]", "line 2, column 8"},
    {"[] x", "line 1"},
    {"{\"id\":1,\"id\":2}", "duplicate object key"},
    {"3", "line 1, column 1"},
    {"{}", "annotation 1: this is no annotation; it needs a target"},
    {"[{" TARGET(XYWH("xywh=1,2,3,4")) "},7]", "annotation 2: this is no annotation"},
    {"{\"items\":7}", "items are no array"},
    {"{\"first\":\"http://h/page1\"}", "pages are elsewhere"},
    {"{\"target\":[]}", "needs one target"},
    {"{\"target\":[\"p.jpg#xywh=1,2,3,4\",\"p.jpg#xywh=1,2,3,4\"]}", "needs one target"},
    {"{\"target\":\"p.jpg\"}", "outlines nothing"},
    {"{\"target\":{\"source\":\"p.jpg\"}}", "no FragmentSelector or SvgSelector"},
    {"{\"target\":7}", "no FragmentSelector or SvgSelector"},
    {"{" TARGET("{\"type\":\"CssSelector\",\"value\":\"x\"}") "}", "no FragmentSelector or SvgSelector"},
    {"{" TARGET("{\"type\":\"FragmentSelector\"}") "}", "lacks its value"},
    {"{" TARGET("{\"type\":\"FragmentSelector\",\"value\":\"xywh=1,2,3,4\",\"refinedBy\":{}}") "}",
     "refined by another"},
    {"{" TARGET(XYWH("xywh=percent:1,2,3,4")) "}", "xywh=percent: is not read"},
    {"{" TARGET(XYWH("xywh=1,2,3")) "}", "3 numbers are given; xywh takes x,y,w,h"},
    {"{" TARGET(XYWH("xywh=1,2,3,4,5")) "}", "more than 4 numbers"},
    {"{" TARGET(XYWH("xywh=1,2,3,x")) "}", "'x' is no number"},
    {"{" TARGET(XYWH("xywh=1,2,-3,4")) "}", "the width -3 is negative"},
    {"{" TARGET(XYWH("xywh=1e300,2,3,4")) "}", "no place in a photo"},
    {"{" TARGET(XYWH("t=10,20")) "}", "has no xywh="},
    {"{" TARGET(SVG("<path d='M 1 2 L 3 4'/>")) "}", "annotation 1: the SVG shape 'path' is not read"},
    {"{\"body\":[" TAG("moisture=damp") "]," TARGET(XYWH("xywh=1,2,3,4")) "}",
     "moisture 'damp' is not known; write dry, moist, wet"},
    {"{\"body\":[" TAG("context=1") "," TAG("context=2") "]," TARGET(XYWH("xywh=1,2,3,4")) "}",
     "context is stated twice"},
    {"{\"target\":\"http://h/%ff.jpg#xywh=1,2,3,4\"}", "escapes are no UTF-8"},
    {"[{\"body\":" TAG("region=1") "," TARGET(XYWH("xywh=1,2,3,4")) "},{\"body\":" TAG("region=1") "," TARGET(
         XYWH("xywh=1,2,3,4")) "}]",
     "annotation 2: the region 1 stands already in annotation 1"},
};

START_TEST(json_faults)
{
  struct region_list list;
  struct error error;

  ck_assert_msg(!read_text(JSON_FAULTS[_i].text, ".json", &list, &error), "read: %s", JSON_FAULTS[_i].text);
  ck_assert_int_eq(error.kind, ERROR_FILE);
  ck_assert_str_eq(error.code, "bad-regions");
  ck_assert_msg(strstr(error.text, JSON_FAULTS[_i].says), "%s", error.text);
  ck_assert_msg(strchr(error.text, ';'), "says what to do: %s", error.text);
  ck_assert_uint_eq(list.count, 0);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("region file");
  TCase *tests = tcase_create("all");

  tcase_add_test(tests, csv_with_every_column);
  tcase_add_loop_test(tests, csv_written_otherwise, 0, sizeof SAME / sizeof *SAME);
  tcase_add_loop_test(tests, csv_faults, 0, sizeof CSV_FAULTS / sizeof *CSV_FAULTS);
  tcase_add_test(tests, nul_byte);
  tcase_add_test(tests, more_columns_than_a_region_file_has);
  tcase_add_test(tests, labels_are_unique_within_a_photo);
  tcase_add_test(tests, header_alone_is_an_empty_list);
  tcase_add_test(tests, kinds_of_files);
  tcase_add_test(tests, annotation_with_every_fact);
  tcase_add_loop_test(tests, annotation_written_otherwise, 0,
                      sizeof SAME_ANNOTATION / sizeof *SAME_ANNOTATION);
  tcase_add_test(tests, annotations_without_labels);
  tcase_add_loop_test(tests, json_faults, 0, sizeof JSON_FAULTS / sizeof *JSON_FAULTS);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
