/* SPDX-License-Identifier: MIT */
#include "report/card.h"

#include "report/figures.h"
#include "report/plain.h"

static void add_left_out(const struct measurement *m, enum card_cause cause, struct text *out)
{
  bool first = true;

  for (size_t i = 0; i < m->patches.count; i++) {
    if (m->sample[i].cause == cause) {
      text_add(out, first ? "; " : ", ");
      text_format(out, "%s%s", first ? card_cause_word(cause) : "", first ? ": " : "");
      plain_add(out, m->card.patch[i].name);
      first = false;
    }
  }
}

void report_card(const struct measurement *m, struct text *out)
{
  struct text line = {0};

  if (!m->card_found) {
    return;
  }
  plain_add(&line, m->card.title);
  text_add(&line, " (");
  plain_add(&line, m->card.name);
  text_format(&line, "): %zu of %zu patches used", m->profile.used, m->patches.count);
  for (int cause = CARD_USED + 1; cause <= CARD_DEVIANT; cause++) {
    add_left_out(m, (enum card_cause)cause, &line);
  }
  text_format(
      &line,
      ". They come out %.1f CIEDE2000 off in the median, %.1f at most, and %.1f when each is left out of "
      "the fit in turn. %.2f mm a pixel at the card.",
      m->profile.residual.median, m->profile.residual.max, m->profile.left_one_out.median,
      m->pose.mm_per_pixel);
  plain_put_paragraph(out, "Card: ", "  ", &line);
}

void report_caveats(const struct measurement *m, struct text *out)
{
  for (size_t i = 0; i < m->caveats; i++) {
    struct text line = {0};
    plain_add(&line, m->caveat[i].text);
    plain_put_paragraph(out, m->caveat[i].doubt ? "- Doubt: " : "- Note: ", "  ", &line);
  }
}

static size_t doubts(const struct measurement *m)
{
  size_t count = 0;

  for (size_t i = 0; i < m->caveats; i++) {
    count += m->caveat[i].doubt;
  }
  return count;
}

void report_verdict(const struct measurement *m, struct text *out)
{
  report_caveats(m, out);
  plain_add(out, m->file);
  text_format(out, ": %s", verdict_word(m->verdict));
  if (m->verdict == VERDICT_DOUBTFUL) {
    text_add(out, " for ");
    figures_count(out, doubts(m), "cause", "causes");
    text_add(out, " named above");
  } else if (!m->card_found) {
    text_add(out, ", nothing is read");
  } else if (m->verdict == VERDICT_UNFIT) {
    text_add(out, ", no region could be read");
  } else {
    text_add(out, ", no cause of doubt");
  }
  text_add(out, "\n");
}
