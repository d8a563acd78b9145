/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "region/svg.h"
#include "suite.h"

static const struct {
  const char *text;
  enum region_shape shape;
  double area;
} GOOD[] = {
    {"<svg><polygon points=\"10,10 40,10 10,50\"/></svg>", REGION_POLYGON, 600},
    {"<svg xmlns=\"http://www.w3.org/2000/svg\"><polygon points=\"10,10 40,10 10,50\"></polygon></svg>",
     REGION_POLYGON, 600},
    {"<svg:svg xmlns:svg='http://www.w3.org/2000/svg'><svg:polygon points='10 10 40 10 10 50'/></svg:svg>",
     REGION_POLYGON, 600},
    {"<?xml version='1.0'?><!-- drawn by hand --> <svg> <g class='a > b'> <polygon fill='none' "
     "points='10,10\n40,10\n"
     "10,50'/> </g> </svg> ",
     REGION_POLYGON, 600},
    {"<polygon points='10,10,40,10,10,50' />", REGION_POLYGON, 600},
    {"<rect height='4' width=\"3\" y = '2' x='1'/>", REGION_RECTANGLE, 12},
    {"<rect width='3px' height='4px'/>", REGION_RECTANGLE, 12},
    {"<svg width='640' height='480' viewBox='0 0 640 480'><rect width='3' height='4'/></svg>",
     REGION_RECTANGLE, 12},
    {"<circle cx='50' cy='60' r='10'/>", REGION_CIRCLE, M_PI * 100},
    {"<ellipse cx='50' cy='60' rx='10' ry='20'/>", REGION_ELLIPSE, M_PI * 200},
    {"<circle cx='50' cy='60'/>", REGION_CIRCLE, 0}, /* as SVG has it; no area is found out later */
};

START_TEST(shapes)
{
  struct region region = {.label = "a"};
  struct error error = {0};

  ck_assert_msg(svg_outline(GOOD[_i].text, &region, &error), "%s: %s", GOOD[_i].text, error.text);
  ck_assert_int_eq(region.shape, GOOD[_i].shape);
  ck_assert_double_eq_tol(region_area(&region), GOOD[_i].area, 1e-6);
  region_clear(&region);
}
END_TEST

static const struct {
  const char *text, *says;
} FAULTS[] = {
    {"", "there is no shape"},
    {"<svg></svg>", "there is no shape"},
    {"polygon", "byte 1: a tag such as"},
    {"<svg>polygon</svg>", "byte 6: a tag such as"},
    {"<path d='M1 2 L3 4'/>", "shape 'path' is not read; draw a polygon"},
    {"<line x1='1'/>", "'line' is not read"},
    {"<svg><polyline points='1,2 3,4'/></svg>", "'polyline' is not read"},
    {"<svg><circle r='1'/><circle r='2'/></svg>", "a second shape"},
    {"<polygon/>", "lacks its points"},
    {"<polygon points=''/>", "pairs x,y"},
    {"<polygon points='1,2 3'/>", "pairs x,y"},
    {"<polygon points='1,2 3,z'/>", "'z' is no number"},
    {"<polygon points='1,2 3,4' points='1,2'/>", "twice"},
    {"<polygon points=1,2/>", "lacks its quotes"},
    {"<polygon points='1,2/>", "lacks its quotes"},
    {"<polygon points/>", "an attribute is expected"},
    {"<polygon points='1,2'x='3'/>", "a tag is broken"},
    {"<polygon points='1,2 3,4 5,6'", "a tag is broken"},
    {"<>", "a tag has no name"},
    {"<svg><circle r='3'></svg>", "matches no open one"},
    {"<svg><circle r='3'/>", "an element is not closed"},
    {"</svg>", "matches no open one"},
    {"<svg></svg x='1'>", "a tag is broken"},
    {"<!-- <circle r='1'/>", "has no end"},
    {"<?xml <circle r='1'/>", "has no end"},
    {"<!DOCTYPE svg><circle r='1'/>", "attribute is expected"},
    {"<circle r='3' transform='scale(2)'/>", "a transform moves the shape"},
    {"<svg><g transform='scale(2)'><circle r='3'/></g></svg>", "a transform moves the shape"},
    {"<svg viewBox='0 0 100 100'><circle r='3'/></svg>", "the viewBox scales"},
    {"<svg viewBox='5 0 100 100' width='100' height='100'><circle r='3'/></svg>", "the viewBox scales"},
    {"<svg viewBox='0 0 100'><circle r='3'/></svg>", "the viewBox scales"},
    {"<svg><svg x='5'><circle r='3'/></svg></svg>", "an svg inside another"},
    {"<rect width='3' height='4' rx='1'/>", "rounded corners"},
    {"<rect width='3cm' height='4'/>", "no number of pixels"},
    {"<rect width='50%' height='4'/>", "no number of pixels"},
    {"<rect width='-3' height='4'/>", "negative"},
    {"<circle r='nan'/>", "no number of pixels"},
    {"<circle r='1e9'/>", "no place in a photo"},
    {"<g><g><g><g><g><g><g><g><g><circle r='1'/></g></g></g></g></g></g></g></g></g>", "nest too deeply"},
    {"<circle a='' b='' c='' d='' e='' f='' g='' h='' i='' j='' k='' l='' m='' n='' o='' p='' q='' s='' t='' "
     "u='' v='' "
     "w='' x='' y='' z='' aa='' ab='' ac='' ad='' ae='' af='' ag='' ah=''/>",
     "too many attributes"},
};

START_TEST(faults)
{
  struct region region = {.label = "a"};
  struct error error = {0};

  ck_assert_msg(!svg_outline(FAULTS[_i].text, &region, &error), "read: %s", FAULTS[_i].text);
  ck_assert_int_eq(error.kind, ERROR_FILE);
  ck_assert_str_eq(error.code, "bad-regions");
  ck_assert_msg(strstr(error.text, FAULTS[_i].says), "%s: %s", FAULTS[_i].text, error.text);
  region_clear(&region); /* the first of two shapes is there already */
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("region svg");
  TCase *tests = tcase_create("all");

  tcase_add_loop_test(tests, shapes, 0, sizeof GOOD / sizeof *GOOD);
  tcase_add_loop_test(tests, faults, 0, sizeof FAULTS / sizeof *FAULTS);
  suite_add_tcase(suite, tests);
  return run_suite(suite);
}
