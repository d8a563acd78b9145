/* SPDX-License-Identifier: MIT */
#include "report/drawing_parts.h"

#include <string.h>

#include "report/plain.h"

/* Height of a capital letter over the size of the type, of the common sans-serif faces (0.72 to 0.73). */
static const double CAPITAL = 0.72;

static void add_number(struct text *out, double value)
{
  char digits[TEXT_FIXED_SIZE];

  text_add_bytes(out, digits, text_fixed(digits, value, 2));
}

static void add_attribute(struct text *out, const char *name, double value)
{
  text_format(out, " %s=\"", name);
  add_number(out, value);
  text_add(out, "\"");
}

static void add_colour(struct text *out, const char *name, struct drawing_colour c)
{
  text_format(out, " %s=\"#%02x%02x%02x\"", name, c.red, c.green, c.blue);
}

static void add_places(struct text *out, const struct drawing_shape *shape)
{
  text_add(out, " points=\"");
  for (size_t i = 0; i < shape->count; i++) {
    text_add(out, i ? " " : "");
    add_number(out, shape->place[i].x);
    text_add(out, ",");
    add_number(out, shape->place[i].y);
  }
  text_add(out, "\"");
}

static void add_rectangle(struct text *out, const struct drawing_shape *shape)
{
  text_add(out, "<rect");
  add_attribute(out, "x", shape->place[0].x);
  add_attribute(out, "y", shape->place[0].y);
  add_attribute(out, "width", shape->place[1].x - shape->place[0].x);
  add_attribute(out, "height", shape->place[1].y - shape->place[0].y);
  add_colour(out, "fill", shape->colour);
  text_add(out, " shape-rendering=\"crispEdges\"/>\n");
}

static void add_area(struct text *out, const struct drawing_shape *shape)
{
  text_add(out, "<polygon");
  add_places(out, shape);
  add_colour(out, "fill", shape->colour);
  text_add(out, " fill-rule=\"evenodd\"/>\n");
}

static void add_path(struct text *out, const struct drawing_shape *shape)
{
  text_add(out, "<polyline");
  add_places(out, shape);
  add_colour(out, "stroke", shape->colour);
  add_attribute(out, "stroke-width", shape->size);
  text_add(out, " fill=\"none\" stroke-linecap=\"round\" stroke-linejoin=\"round\"/>\n");
}

/* Text with XML's own characters written as entities. U+FFFE and U+FFFF are UTF-8 but no characters of XML 1.0. */
static void add_escaped(struct text *out, const char *string)
{
  struct text clean = {0};

  plain_add(&clean, string);
  for (const char *c = clean.data; c && *c; c++) {
    const char *entity = *c == '<' ? "&lt;" : *c == '>' ? "&gt;" : *c == '&' ? "&amp;" : NULL;
    if (entity) {
      text_add(out, entity);
    } else if (strncmp(c, "\xEF\xBF\xBE", 3) == 0 || strncmp(c, "\xEF\xBF\xBF", 3) == 0) {
      text_add(out, "?");
      c += 2;
    } else {
      text_add_bytes(out, c, 1);
    }
  }
  out->failed |= clean.failed;
  text_clear(&clean);
}

static void add_text(struct text *out, const struct drawing_shape *shape)
{
  static const char *const anchor[] = {"start", "middle", "end"};

  text_add(out, "<text");
  add_attribute(out, "x", shape->place[0].x);
  add_attribute(out, "y", shape->place[0].y);
  add_attribute(out, "font-size", shape->size / CAPITAL);
  add_colour(out, "fill", shape->colour);
  text_format(out, " text-anchor=\"%s\">", anchor[shape->anchor]);
  add_escaped(out, shape->text);
  text_add(out, "</text>\n");
}

void drawing_svg(const struct drawing *drawing, struct text *out)
{
  static void (*const write[])(struct text *,
                               const struct drawing_shape *) = {[DRAWING_RECTANGLE] = add_rectangle,
                                                                [DRAWING_AREA] = add_area,
                                                                [DRAWING_PATH] = add_path,
                                                                [DRAWING_TEXT] = add_text};

  text_format(out,
              "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%.0f\" height=\"%.0f\" viewBox=\"0 0 %.0f "
              "%.0f\" font-family=\"sans-serif\">\n"
              "<rect width=\"100%%\" height=\"100%%\" fill=\"#ffffff\"/>\n",
              drawing->width, drawing->height, drawing->width, drawing->height);
  for (size_t i = 0; i < drawing->count; i++) {
    write[drawing->shape[i].kind](out, &drawing->shape[i]);
  }
  text_add(out, "</svg>\n");
}
