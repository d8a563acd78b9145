/* SPDX-License-Identifier: MIT */
/* Writing JSON (RFC 8259) on one line. A parser is a library's business; writing numbers with the decimals that their unit
 * deserves, the same bytes everywhere, is easier by hand. */
#ifndef TAWNY_REPORT_JSON_WRITE_H
#define TAWNY_REPORT_JSON_WRITE_H

#include <stdbool.h>
#include <stddef.h>

#include "base/error.h"
#include "base/text.h"

struct json_writer {
  struct text *out; /* borrowed                                       */
  bool comma;       /* a value stands before the next one or its key  */
};

void json_write_open(struct json_writer *json, char bracket); /* '{' or '[' */
void json_write_close(struct json_writer *json, char bracket);
void json_write_key(struct json_writer *json, const char *key);

/* Bytes that are no UTF-8 become U+FFFD, as file names may hold any. NULL gives null. */
void json_write_string(struct json_writer *json, const char *string);
/* Rounded to `decimals`; what is not finite gives null. Never "-0.00". */
void json_write_number(struct json_writer *json, double value, int decimals);
void json_write_count(struct json_writer *json, size_t count);
void json_write_bool(struct json_writer *json, bool value);
void json_write_null(struct json_writer *json);

/* Ends the line whose object begins at length `start` of the text. Where that is not `whole` (the error is set) or there was no memory for
 * `what`, the text is cut back to `start`, for half an object is worse than none; false then. */
bool json_write_end(struct json_writer *json, size_t start, bool whole, const char *what,
                    struct error *error);

/* A key with its value. */
void json_write_key_open(struct json_writer *json, const char *key, char bracket);
void json_write_key_string(struct json_writer *json, const char *key, const char *string);
void json_write_key_number(struct json_writer *json, const char *key, double value, int decimals);
void json_write_key_count(struct json_writer *json, const char *key, size_t count);
void json_write_key_bool(struct json_writer *json, const char *key, bool value);
void json_write_key_null(struct json_writer *json, const char *key);

#endif
