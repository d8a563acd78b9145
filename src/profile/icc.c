/* SPDX-License-Identifier: MIT */
/* Tags and types are those of ICC.1:1998-09, 6.3 to 6.5; all numbers big-endian. */
#include "profile/icc.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

#include "base/text.h"

enum {
  HEADER_SIZE = 128,
  ENTRY_SIZE = 12,
  CURVE_POINTS = 16 * 255 + 1, /* so that 8-bit codes hit points */
  GRID = 33,
  TAGS_MAX = 9
};

struct tag {
  const char *signature;
  size_t at, size;
};

/* The profile as it grows: data of the tags, and where each lies in it. */
struct writer {
  struct text data;
  struct tag tag[TAGS_MAX];
  size_t tags;
};

static void put16(struct text *out, unsigned value)
{
  const char bytes[2] = {(char)(value >> 8 & 255), (char)(value & 255)};

  text_add_bytes(out, bytes, sizeof bytes);
}

static void put32(struct text *out, uint32_t value)
{
  put16(out, value >> 16);
  put16(out, value & 0xffff);
}

static void put_zeros(struct text *out, size_t count)
{
  for (size_t i = 0; i < count; i++) {
    text_add_bytes(out, "", 1);
  }
}

/* s15Fixed16. */
static void put_fixed(struct text *out, double value)
{
  put32(out, (uint32_t)(int32_t)lround(fmin(fmax(value, -32768), 32767) * 65536));
}

static unsigned to_word(double share)
{
  return (unsigned)lround(fmin(fmax(share, 0), 1) * 65535);
}

/* Starts a tag of the type given, at a multiple of four bytes. */
static void begin_tag(struct writer *w, const char *signature, const char *type)
{
  put_zeros(&w->data, (4 - w->data.length % 4) % 4);
  w->tag[w->tags] = (struct tag){signature, w->data.length, 0};
  text_add_bytes(&w->data, type, 4);
  put32(&w->data, 0);
}

static void end_tag(struct writer *w)
{
  w->tag[w->tags].size = w->data.length - w->tag[w->tags].at;
  w->tags++;
}

static void put_ascii(struct text *out, const char *words)
{
  for (const char *c = words; *c; c++) {
    text_add_bytes(out, *c >= 0x20 && *c < 0x7f ? c : "?", 1);
  }
  put_zeros(out, 1);
}

static void add_description(struct writer *w, const char *words)
{
  begin_tag(w, "desc", "desc");
  put32(&w->data, (uint32_t)strlen(words) + 1);
  put_ascii(&w->data, words);
  put_zeros(&w->data, 4 + 4 + 2 + 1 + 67); /* no Unicode, no script code */
  end_tag(w);
}

static void add_copyright(struct writer *w)
{
  begin_tag(w, "cprt", "text");
  put_ascii(&w->data, "No copyright, use freely");
  end_tag(w);
}

static void add_xyz(struct writer *w, const char *signature, double x, double y, double z)
{
  begin_tag(w, signature, "XYZ ");
  put_fixed(&w->data, x);
  put_fixed(&w->data, y);
  put_fixed(&w->data, z);
  end_tag(w);
}

/* Linear light of one channel. */
static double linear_of(const struct profile *profile, int channel, double code)
{
  return profile_tone(profile, encoding_linear(&profile->encoding, channel, code));
}

static void add_curve(struct writer *w, const struct profile *profile, int channel)
{
  static const char *const signature[3] = {"rTRC", "gTRC", "bTRC"};
  double top = linear_of(profile, channel, 1);

  begin_tag(w, signature[channel], "curv");
  put32(&w->data, CURVE_POINTS);
  for (int i = 0; i < CURVE_POINTS; i++) {
    put16(&w->data, to_word(linear_of(profile, channel, (double)i / (CURVE_POINTS - 1)) / top));
  }
  end_tag(w);
}

/* Points the last tag at the data of the one before where these are the same. */
static void share_data(struct writer *w)
{
  struct tag *last = &w->tag[w->tags - 1], *before = last - 1;

  if (last->size == before->size && w->data.data &&
      memcmp(w->data.data + last->at, w->data.data + before->at, last->size) == 0) {
    w->data.length = last->at;
    last->at = before->at;
  }
}

static void add_matrix_and_curves(struct writer *w, const struct profile *profile)
{
  static const char *const signature[3] = {"rXYZ", "gXYZ", "bXYZ"};

  for (int c = 0; c < 3; c++) {
    double scale = linear_of(profile, c, 1) / 100;
    add_xyz(w, signature[c], scale * profile->matrix[0][c], scale * profile->matrix[1][c],
            scale * profile->matrix[2][c]);
  }
  for (int c = 0; c < 3; c++) {
    add_curve(w, profile, c);
    if (c > 0) {
      share_data(w);
    }
  }
}

/* CIE 15:2018, 8.2.1: L* / 100 of linear light, linear below (6/29)^3 and on below 0; and back. */
static double lightness(double linear)
{
  return linear > 216.0 / 24389 ? 1.16 * cbrt(linear) - 0.16 : linear * 24389 / 2700;
}

static double lightness_inverse(double share)
{
  double f = (share + 0.16) / 1.16;

  return share > 0.08 ? f * f * f : share * 2700 / 24389;
}

/* A channel's axis of the grid: even in lightness from code 0 to the largest. */
struct axis {
  double low, high;
};

static struct axis axis_of(const struct profile *profile, int channel)
{
  return (struct axis){lightness(linear_of(profile, channel, 0)), lightness(linear_of(profile, channel, 1))};
}

/* L* 0..100 as 0..0xff00, a* and b* of -128 as 0 and of 0 as 0x8000. */
static void put_lab(struct text *out, struct lab lab)
{
  put16(out, to_word(lab.L / 100 * 65280 / 65535));
  put16(out, to_word((lab.a + 128) * 256 / 65535));
  put16(out, to_word((lab.b + 128) * 256 / 65535));
}

static void put_grid(struct text *out, const struct profile *profile, const struct axis axis[3])
{
  for (int i = 0; i < GRID * GRID * GRID; i++) {
    const int step[3] = {i / (GRID * GRID), i / GRID % GRID, i % GRID}; /* the last channel runs fastest */
    struct vec3 linear;
    for (int c = 0; c < 3; c++) {
      double share = (double)step[c] / (GRID - 1);
      linear.v[c] = lightness_inverse(axis[c].low + share * (axis[c].high - axis[c].low));
    }
    put_lab(out, profile_lab(profile, linear));
  }
}

static void add_table(struct writer *w, const struct profile *profile)
{
  struct axis axis[3];

  begin_tag(w, "A2B0", "mft2");
  text_add_bytes(&w->data, (const char[]){3, 3, GRID, 0}, 4);
  for (int i = 0; i < 9; i++) {
    put_fixed(&w->data, i % 4 == 0);
  }
  put16(&w->data, CURVE_POINTS);
  put16(&w->data, 2);
  for (int c = 0; c < 3; c++) {
    axis[c] = axis_of(profile, c);
    for (int i = 0; i < CURVE_POINTS; i++) {
      double v = lightness(linear_of(profile, c, (double)i / (CURVE_POINTS - 1)));
      put16(&w->data, to_word((v - axis[c].low) / (axis[c].high - axis[c].low)));
    }
  }
  put_grid(&w->data, profile, axis);
  for (int c = 0; c < 3; c++) { /* output tables: as it is */
    put16(&w->data, 0);
    put16(&w->data, 65535);
  }
  end_tag(w);
}

static void put_header(struct text *out, size_t size, const char *pcs)
{
  put32(out, (uint32_t)size);
  put_zeros(out, 4);
  put32(out, 0x02400000); /* version */
  text_add(out, "scnrRGB ");
  text_add_bytes(out, pcs, 4);
  put16(out, 2026); /* a date must stand here; a fixed one, so that the same photo gives the same bytes */
  put16(out, 1);
  put16(out, 1);
  put_zeros(out, 6);
  text_add(out, "acsp");
  put_zeros(out, 24);
  put32(out, 1); /* media-relative colorimetric */
  put_fixed(out, 0.9642);
  put_fixed(out, 1);
  put_fixed(out, 0.8249);
  put_zeros(out, HEADER_SIZE - 80);
}

static void assemble(const struct writer *w, const char *pcs, struct text *out)
{
  size_t start = HEADER_SIZE + 4 + ENTRY_SIZE * w->tags;

  put_header(out, start + w->data.length, pcs);
  put32(out, (uint32_t)w->tags);
  for (size_t i = 0; i < w->tags; i++) {
    text_add_bytes(out, w->tag[i].signature, 4);
    put32(out, (uint32_t)(start + w->tag[i].at));
    put32(out, (uint32_t)w->tag[i].size);
  }
  text_add_bytes(out, w->data.data, w->data.length);
  out->failed = out->failed || w->data.failed;
}

bool profile_icc(const struct profile *profile, const char *description, struct file_bytes *icc,
                 struct error *error)
{
  struct writer w = {0};
  struct text out = {0};

  *icc = (struct file_bytes){0};
  add_description(&w, description);
  add_copyright(&w);
  add_xyz(&w, "wtpt", 0.9642, 1, 0.8249);
  if (profile->bent) {
    add_table(&w, profile);
  } else {
    add_matrix_and_curves(&w, profile);
  }
  put_zeros(&w.data, (4 - w.data.length % 4) % 4);
  if (!w.data.failed) {
    assemble(&w, profile->bent ? "Lab " : "XYZ ", &out);
  }
  bool done = !w.data.failed && !out.failed;
  text_clear(&w.data);
  if (!done) {
    text_clear(&out);
    return error_no_memory(error, "an ICC profile");
  }
  *icc = (struct file_bytes){(uint8_t *)out.data, out.length};
  return true;
}
