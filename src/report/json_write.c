/* SPDX-License-Identifier: MIT */
#include "report/json_write.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "report/plain.h"

static void before_value(struct json_writer *json)
{
  if (json->comma) {
    text_add(json->out, ", ");
  }
  json->comma = true;
}

void json_write_open(struct json_writer *json, char bracket)
{
  before_value(json);
  text_add_bytes(json->out, &bracket, 1);
  json->comma = false;
}

void json_write_close(struct json_writer *json, char bracket)
{
  text_add_bytes(json->out, &bracket, 1);
  json->comma = true;
}

static void quote_byte(struct text *out, unsigned char byte)
{
  if (byte == '"' || byte == '\\') {
    text_format(out, "\\%c", byte);
  } else if (byte < 0x20) {
    text_format(out, "\\u%04x", byte);
  } else {
    text_add_bytes(out, (const char *)&byte, 1);
  }
}

static void quote(struct text *out, const char *string)
{
  text_add(out, "\"");
  for (size_t length; *string; string += length) {
    length = plain_character(string);
    if (length == 0) {
      text_add(out, "\xEF\xBF\xBD"); /* U+FFFD */
      length = 1;
    } else if (length == 1) {
      quote_byte(out, (unsigned char)*string);
    } else {
      text_add_bytes(out, string, length);
    }
  }
  text_add(out, "\"");
}

void json_write_key(struct json_writer *json, const char *key)
{
  before_value(json);
  quote(json->out, key);
  text_add(json->out, ": ");
  json->comma = false;
}

void json_write_string(struct json_writer *json, const char *string)
{
  if (!string) {
    json_write_null(json);
    return;
  }
  before_value(json);
  quote(json->out, string);
}

void json_write_number(struct json_writer *json, double value, int decimals)
{
  char digits[400]; /* room for DBL_MAX */

  if (!isfinite(value)) {
    json_write_null(json);
    return;
  }
  snprintf(digits, sizeof digits, "%.*f", decimals, value);
  before_value(json);
  text_add(json->out, digits[0] == '-' && !strpbrk(digits, "123456789") ? digits + 1 : digits);
}

void json_write_count(struct json_writer *json, size_t count)
{
  before_value(json);
  text_format(json->out, "%zu", count);
}

void json_write_bool(struct json_writer *json, bool value)
{
  before_value(json);
  text_add(json->out, value ? "true" : "false");
}

void json_write_null(struct json_writer *json)
{
  before_value(json);
  text_add(json->out, "null");
}

bool json_write_end(struct json_writer *json, size_t start, bool whole, const char *what, struct error *error)
{
  text_add(json->out, "\n");
  if (whole && json->out->failed) {
    whole = error_no_memory(error, what);
  }
  if (!whole) {
    text_cut(json->out, start);
  }
  return whole;
}

void json_write_key_open(struct json_writer *json, const char *key, char bracket)
{
  json_write_key(json, key);
  json_write_open(json, bracket);
}

void json_write_key_string(struct json_writer *json, const char *key, const char *string)
{
  json_write_key(json, key);
  json_write_string(json, string);
}

void json_write_key_number(struct json_writer *json, const char *key, double value, int decimals)
{
  json_write_key(json, key);
  json_write_number(json, value, decimals);
}

void json_write_key_count(struct json_writer *json, const char *key, size_t count)
{
  json_write_key(json, key);
  json_write_count(json, count);
}

void json_write_key_bool(struct json_writer *json, const char *key, bool value)
{
  json_write_key(json, key);
  json_write_bool(json, value);
}

void json_write_key_null(struct json_writer *json, const char *key)
{
  json_write_key(json, key);
  json_write_null(json);
}
