/* SPDX-License-Identifier: MIT */
#include "region/svg.h"

#include <stdlib.h>
#include <string.h>

#include "base/text.h"
#include "region/list.h"
#include "region/outline.h"

enum { ATTRIBUTES_MAX = 32, DEPTH_MAX = 8 };

/* A piece of the text. */
struct piece {
  const char *text;
  size_t length;
};

struct attribute {
  struct piece name, value;
};

struct tag {
  struct piece name;   /* without namespace prefix */
  bool closing, empty; /* </name>, <name/> */
  struct attribute attribute[ATTRIBUTES_MAX];
  size_t attributes;
};

struct svg {
  const char *text, *at;
  struct region *region;
  struct piece open[DEPTH_MAX];
  size_t depth;
  bool found;
};

static bool fault(const struct svg *svg, struct error *error, const char *what)
{
  return error_set(error, ERROR_FILE, "bad-regions", "SVG, byte %td: %s", svg->at - svg->text + 1, what);
}

static bool is(struct piece piece, const char *word)
{
  return strlen(word) == piece.length && memcmp(piece.text, word, piece.length) == 0;
}

static bool same(struct piece a, struct piece b)
{
  return a.length == b.length && memcmp(a.text, b.text, a.length) == 0;
}

static void skip_blanks(struct svg *svg)
{
  svg->at += strspn(svg->at, " \t\r\n");
}

static bool starts(const struct svg *svg, const char *word)
{
  return strncmp(svg->at, word, strlen(word)) == 0;
}

/* Passes blanks, comments, and instructions such as <?xml ... ?>. */
static bool skip_remarks(struct svg *svg, struct error *error)
{
  for (;;) {
    skip_blanks(svg);
    const char *end = starts(svg, "<!--") ? "-->" : starts(svg, "<?") ? "?>" : NULL;
    if (!end) {
      return true;
    }
    const char *behind = strstr(svg->at + 2, end);
    if (!behind) {
      return fault(svg, error, "a comment or instruction has no end; close it");
    }
    svg->at = behind + strlen(end);
  }
}

static struct piece read_name(struct svg *svg)
{
  struct piece name = {svg->at, strcspn(svg->at, " \t\r\n=/<>\"'&")};

  svg->at += name.length;
  return name;
}

static void drop_prefix(struct piece *name)
{
  const char *colon = memchr(name->text, ':', name->length);

  if (colon) {
    name->length -= (size_t)(colon + 1 - name->text);
    name->text = colon + 1;
  }
}

static bool read_attribute(struct svg *svg, struct tag *tag, struct error *error)
{
  struct attribute attribute = {.name = read_name(svg)};

  skip_blanks(svg);
  if (attribute.name.length == 0 || *svg->at != '=') {
    return fault(svg, error, "an attribute is expected here, written name=\"value\"");
  }
  svg->at++;
  skip_blanks(svg);
  char quote = *svg->at;
  const char *end = quote == '"' || quote == '\'' ? strchr(svg->at + 1, quote) : NULL;
  if (!end) {
    return fault(svg, error, "an attribute's value lacks its quotes; write name=\"value\"");
  }
  attribute.value = (struct piece){svg->at + 1, (size_t)(end - svg->at - 1)};
  for (size_t i = 0; i < tag->attributes; i++) {
    if (same(tag->attribute[i].name, attribute.name)) {
      return fault(svg, error, "an attribute stands there twice; keep one");
    }
  }
  if (tag->attributes == ATTRIBUTES_MAX) {
    return fault(svg, error, "too many attributes; keep the shape's own");
  }
  tag->attribute[tag->attributes++] = attribute;
  svg->at = end + 1;
  return true;
}

static bool read_attributes(struct svg *svg, struct tag *tag, struct error *error)
{
  for (;;) {
    size_t blanks = strspn(svg->at, " \t\r\n");
    svg->at += blanks;
    if (*svg->at == '>' || starts(svg, "/>")) {
      tag->empty = *svg->at == '/';
      svg->at += tag->empty ? 2 : 1;
      return true;
    }
    if (blanks == 0 || tag->closing) {
      return fault(svg, error, "a tag is broken here; close it with '>'");
    }
    if (!read_attribute(svg, tag, error)) {
      return false;
    }
  }
}

static bool read_tag(struct svg *svg, struct tag *tag, struct error *error)
{
  *tag = (struct tag){0};
  if (*svg->at != '<') {
    return fault(svg, error, "a tag such as <polygon points=\"...\"/> is expected here");
  }
  svg->at++;
  tag->closing = *svg->at == '/';
  svg->at += tag->closing;
  tag->name = read_name(svg);
  drop_prefix(&tag->name);
  if (tag->name.length == 0) {
    return fault(svg, error, "a tag has no name; write such as <polygon points=\"...\"/>");
  }
  return read_attributes(svg, tag, error);
}

static const struct piece *attribute_of(const struct tag *tag, const char *name)
{
  for (size_t i = 0; i < tag->attributes; i++) {
    if (is(tag->attribute[i].name, name)) {
      return &tag->attribute[i].value;
    }
  }
  return NULL;
}

/* A length in user units, which are pixels; 0 where it is missing, as SVG has it. */
static bool length_of(const struct svg *svg, const struct tag *tag, const char *name, double *length,
                      struct error *error)
{
  const struct piece *found = attribute_of(tag, name);

  *length = 0;
  if (!found) {
    return true;
  }
  struct piece word = *found;
  if (word.length > 2 && memcmp(word.text + word.length - 2, "px", 2) == 0) {
    word.length -= 2;
  }
  return text_number_bytes(word.text, word.length, length) ||
         fault(svg, error, "a coordinate is no number of pixels; write such as x=\"120.5\"");
}

static bool lengths_of(const struct svg *svg, const struct tag *tag, const char *const name[4],
                       double length[4], struct error *error)
{
  for (int i = 0; i < 4; i++) {
    length[i] = 0;
    if (name[i] && !length_of(svg, tag, name[i], &length[i], error)) {
      return false;
    }
  }
  return true;
}

static bool take_rect(struct svg *svg, const struct tag *tag, struct error *error)
{
  static const char *const name[4] = {"x", "y", "width", "height"};
  double v[4];

  if (attribute_of(tag, "rx") || attribute_of(tag, "ry")) {
    return fault(svg, error, "rounded corners are not read; take rx and ry out");
  }
  return lengths_of(svg, tag, name, v, error) &&
         outline_rectangle(svg->region, v[0], v[1], v[2], v[3], error);
}

static bool take_circle(struct svg *svg, const struct tag *tag, struct error *error)
{
  static const char *const name[4] = {"cx", "cy", "r", NULL};
  double v[4];

  return lengths_of(svg, tag, name, v, error) &&
         outline_ellipse(svg->region, REGION_CIRCLE, (struct point){v[0], v[1]}, v[2], v[2], error);
}

static bool take_ellipse(struct svg *svg, const struct tag *tag, struct error *error)
{
  static const char *const name[4] = {"cx", "cy", "rx", "ry"};
  double v[4];

  return lengths_of(svg, tag, name, v, error) &&
         outline_ellipse(svg->region, REGION_ELLIPSE, (struct point){v[0], v[1]}, v[2], v[3], error);
}

static bool take_polygon(struct svg *svg, const struct tag *tag, struct error *error)
{
  const struct piece *points = attribute_of(tag, "points");
  double *number = calloc(2 * OUTLINE_CORNERS_MAX, sizeof *number);
  size_t count;

  if (!number) {
    return error_no_memory(error, "a polygon");
  }
  bool done =
      points ? list_numbers(points->text, points->length, 2 * OUTLINE_CORNERS_MAX, number, &count, error) &&
                   outline_polygon(svg->region, number, count, error)
             : fault(svg, error, "the polygon lacks its points; write points=\"x,y x,y x,y\"");
  free(number);
  return done;
}

static bool take_shape(struct svg *svg, const struct tag *tag, struct error *error)
{
  if (svg->found) {
    return fault(svg, error, "a second shape; give each region its own annotation");
  }
  svg->found = true;
  if (is(tag->name, "rect")) {
    return take_rect(svg, tag, error);
  }
  if (is(tag->name, "circle")) {
    return take_circle(svg, tag, error);
  }
  if (is(tag->name, "ellipse")) {
    return take_ellipse(svg, tag, error);
  }
  if (is(tag->name, "polygon")) {
    return take_polygon(svg, tag, error);
  }
  error_set(error, ERROR_FILE, "bad-regions",
            "the SVG shape '%.*s' is not read; draw a polygon, rect, circle or ellipse",
            (int)tag->name.length, tag->name.text);
  return false;
}

/* A view box is harmless where it says that a unit is a pixel. */
static bool check_view_box(const struct svg *svg, const struct tag *tag, struct error *error)
{
  const struct piece *box = attribute_of(tag, "viewBox");
  double width, height, v[4];
  size_t count;

  if (!box) {
    return true;
  }
  if (!length_of(svg, tag, "width", &width, error) || !length_of(svg, tag, "height", &height, error) ||
      !list_numbers(box->text, box->length, 4, v, &count, error)) {
    return false;
  }
  if (count != 4 || v[0] != 0 || v[1] != 0 || v[2] != width || v[3] != height) {
    return fault(svg, error,
                 "the viewBox scales or shifts the shape; give pixels of the photo and leave it out");
  }
  return true;
}

static bool take_tag(struct svg *svg, const struct tag *tag, struct error *error)
{
  if (tag->closing) {
    if (svg->depth == 0 || !same(svg->open[svg->depth - 1], tag->name)) {
      return fault(svg, error, "a closing tag matches no open one");
    }
    svg->depth--;
    return true;
  }
  if (attribute_of(tag, "transform")) {
    return fault(svg, error, "a transform moves the shape; give pixels of the photo and leave it out");
  }
  if (is(tag->name, "svg") && svg->depth > 0) {
    return fault(svg, error, "an svg inside another may shift the shape; give one svg");
  }
  bool wrapper = is(tag->name, "svg") || is(tag->name, "g");
  if (wrapper ? !check_view_box(svg, tag, error) : !take_shape(svg, tag, error)) {
    return false;
  }
  if (!tag->empty && svg->depth == DEPTH_MAX) {
    return fault(svg, error, "elements nest too deeply; give the shape alone");
  }
  if (!tag->empty) {
    svg->open[svg->depth++] = tag->name;
  }
  return true;
}

bool svg_outline(const char *text, struct region *region, struct error *error)
{
  struct svg svg = {.text = text, .at = text, .region = region};
  struct tag tag;

  for (;;) {
    if (!skip_remarks(&svg, error)) {
      return false;
    }
    if (*svg.at == '\0') {
      break;
    }
    if (!read_tag(&svg, &tag, error) || !take_tag(&svg, &tag, error)) {
      return false;
    }
  }
  if (svg.depth > 0) {
    return fault(&svg, error, "an element is not closed; end it with </...>");
  }
  return svg.found || fault(&svg, error, "there is no shape; draw a polygon, rect, circle or ellipse");
}
