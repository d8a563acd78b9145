/* SPDX-License-Identifier: MIT */
#include "compare/findings.h"

#include <stdlib.h>
#include <string.h>

static const char SURROUNDING[] = "surrounding deposit";

struct choices {
  struct pair_choice *list;
  size_t count, capacity;
};

static bool add_choice(struct choices *choices, size_t a, size_t b)
{
  if (choices->count == choices->capacity) {
    size_t capacity = choices->capacity ? 2 * choices->capacity : 64;
    struct pair_choice *larger = realloc(choices->list, capacity * sizeof *larger);
    if (!larger) {
      return false;
    }
    choices->list = larger;
    choices->capacity = capacity;
  }
  choices->list[choices->count++] = (struct pair_choice){a, b};
  return true;
}

struct word {
  const char *at;
  size_t length;
};

static bool is_word(const char *name, struct word word)
{
  return strlen(name) == word.length && memcmp(name, word.at, word.length) == 0;
}

/* Whether the name means a context of the collection, rather than a label. */
static bool names_context(const struct collection *c, struct word word)
{
  for (size_t i = 0; i < c->count; i++) {
    if (is_word(c->item[i].region.context, word)) {
      return true;
    }
  }
  return false;
}

static bool is_meant(const struct collected *item, struct word word, bool context)
{
  return is_word(context ? item->region.context : item->region.label, word);
}

static bool names_any(const struct collection *c, struct word word, struct error *error)
{
  for (size_t i = 0; i < c->count; i++) {
    if (is_word(c->item[i].region.context, word) || is_word(c->item[i].region.label, word)) {
      return true;
    }
  }
  return error_set(error, ERROR_USAGE, "pairs",
                   "--pairs: no context and no region that was read is called %.*s; correct the name",
                   (int)(word.length < 100 ? word.length : 100), word.at);
}

/* All readings of the one name against all of the other. */
static bool ask_pair(const struct collection *c, struct word one, struct word other, struct choices *choices,
                     struct error *error)
{
  bool one_context = names_context(c, one), other_context = names_context(c, other);

  if (!names_any(c, one, error) || !names_any(c, other, error)) {
    return false;
  }
  for (size_t i = 0; i < c->count; i++) {
    for (size_t j = 0; is_meant(&c->item[i], one, one_context) && j < c->count; j++) {
      if (i != j && is_meant(&c->item[j], other, other_context) && !add_choice(choices, i, j)) {
        return error_no_memory(error, "the pairs");
      }
    }
  }
  return true;
}

/* "A:B", parted from the next by blanks or commas. */
static bool ask_pairs(const struct collection *c, const char *words, struct choices *choices,
                      struct error *error)
{
  for (const char *at = words + strspn(words, " ,"); *at; at += strspn(at, " ,")) {
    size_t length = strcspn(at, " ,");
    const char *colon = memchr(at, ':', length);
    if (!colon || colon == at || colon == at + length - 1) {
      return error_set(error, ERROR_USAGE, "pairs",
                       "--pairs \"%.100s\" is no list of pairs; write it as in \"1042:1043 1042:1044\"",
                       words);
    }
    struct word one = {at, (size_t)(colon - at)}, other = {colon + 1, length - (size_t)(colon - at) - 1};
    if (!ask_pair(c, one, other, choices, error)) {
      return false;
    }
    at += length;
  }
  return choices->count > 0 || error_set(error, ERROR_USAGE, "pairs",
                                         "--pairs names no two readings; write it as in \"1042:1043\"");
}

/* Of one state, as far as is stated: water alone makes a difference between a moist fill and a dry deposit round it. */
static bool may_be_of_one_state(const struct region *a, const struct region *b)
{
  return a->moisture == b->moisture || a->moisture == MOISTURE_UNSTATED || b->moisture == MOISTURE_UNSTATED;
}

/* Of one state or of states unknown, and exactly one of the two surrounds others. */
static bool are_fill_and_surrounding(const struct collected *a, const struct collected *b)
{
  bool a_surrounds = strcmp(a->region.role, SURROUNDING) == 0;
  bool b_surrounds = strcmp(b->region.role, SURROUNDING) == 0;

  return a->region.role[0] && b->region.role[0] && a_surrounds != b_surrounds &&
         may_be_of_one_state(&a->region, &b->region);
}

static bool list_surrounded(const struct collection *c, const struct collected_photo *photo,
                            struct choices *choices)
{
  size_t end = photo->first + photo->count;
  bool done = true;

  for (size_t i = photo->first; done && i < end; i++) {
    for (size_t j = i + 1; done && j < end; j++) {
      done = !are_fill_and_surrounding(&c->item[i], &c->item[j]) || add_choice(choices, i, j);
    }
  }
  return done;
}

/* Of each photo those that touch, which stand photo after photo; where none do, fills against what surrounds them. */
static bool list_neighbours(const struct collection *c, struct choices *choices, struct error *error)
{
  bool done = true;
  size_t next = 0;

  for (size_t p = 0; done && p < c->photos; p++) {
    size_t end = c->photo[p].first + c->photo[p].count, before = next;
    for (; done && next < c->touches && c->touch[next].a < end; next++) {
      done = add_choice(choices, c->touch[next].a, c->touch[next].b);
    }
    done = done && (next > before || list_surrounded(c, &c->photo[p], choices));
  }
  return done || error_no_memory(error, "the pairs");
}

static bool list_lines(const struct collection *c, const char *pairs, struct findings *f, struct error *error)
{
  struct choices choices = {0};
  bool done = pairs ? ask_pairs(c, pairs, &choices, error) : list_neighbours(c, &choices, error);

  f->line = choices.list;
  f->lines = choices.count;
  return done;
}

static bool check_count(const struct collection *c, struct error *error)
{
  if (c->count == 0) {
    return error_set(
        error, ERROR_UNMEASURABLE, "no-reading",
        "nothing was read, so there is nothing to compare; give outlines with --regions, or saved "
        "readings that hold some");
  }
  return c->count > 1 || error_set(error, ERROR_UNMEASURABLE, "one-reading",
                                   "only one region was read (%s); give a second one to compare it with",
                                   c->item[0].region.label);
}

bool findings_make(const struct collection *c, const struct findings_wanted *wanted, struct findings *f,
                   struct error *error)
{
  *f = (struct findings){.collection = c};
  if (!check_count(c, error) || !list_lines(c, wanted->pairs, f, error) ||
      !pair_table_make(c, &f->table, error) ||
      !pair_choose(c, &f->table, wanted->pairs_most, &f->shown, &f->shown_count, error) ||
      !deposits_make(c, &f->deposits, error) ||
      !moisture_shifts(c, &f->deposits, &f->shift, &f->shifts, error) ||
      !moisture_contrasts(c, &f->deposits, wanted->contrasts_most, &f->contrast, &f->contrasts,
                          &f->contrasts_all, error)) {
    findings_clear(f);
    return false;
  }
  return true;
}

void findings_clear(struct findings *f)
{
  pair_table_clear(&f->table);
  deposits_clear(&f->deposits);
  free(f->line);
  free(f->shown);
  free(f->shift);
  free(f->contrast);
  *f = (struct findings){0};
}
