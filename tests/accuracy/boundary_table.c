/* SPDX-License-Identifier: MIT */
/* boundary_table SCENES [FIRST_SEED] [measured]
 *
 * How often two touching deposits 2.0 CIEDE2000 apart are told apart in field scenes, and two halves of one deposit, along their
 * boundary and as whole regions. Seeds from FIRST_SEED on, 100001 if not given. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "boundary_score.h"

struct tally {
  size_t measured, compared, boundary, whole;
  double off, off_whole, width;
};

static void count(struct tally *tally, const struct boundary_score *score)
{
  tally->measured += score->measured;
  tally->whole += score->measured && score->whole.apart;
  if (score->compared) {
    tally->compared++;
    tally->boundary += score->boundary.apart;
    tally->off += fabs(score->boundary.de00 - score->truth);
    tally->off_whole += fabs(score->whole.de00 - score->truth);
    tally->width += score->boundary.uncertainty;
  }
}

static void print(const char *title, const struct tally *t, size_t scenes)
{
  double n = (double)t->compared;

  printf("  %-28s %3zu scenes, %3zu read: told apart along the boundary %3zu, whole regions %3zu; CIEDE2000 "
         "off by %.2f "
         "and %.2f on average, half-width %.2f\n",
         title, scenes, t->compared, t->boundary, t->whole, t->off / n, t->off_whole / n, t->width / n);
}

int main(int argc, char **argv)
{
  static struct spectra_source source;
  static const double APART[2] = {2, 0};
  struct error error = {0};
  size_t scenes = argc > 1 ? strtoul(argv[1], NULL, 10) : 0;
  uint64_t first = argc > 2 ? strtoull(argv[2], NULL, 10) : 100001;
  bool measured = argc > 3 && strcmp(argv[3], "measured") == 0;
  struct tally tally[2] = {0};
  char path[] = "/tmp/boundary-XXXXXX";
  int file = mkstemp(path);

  if (scenes == 0 || file < 0 || !(measured ? source_measured : source_made)(&source, &error)) {
    fprintf(stderr, "boundary_table SCENES [FIRST_SEED] [measured]: %s\n", error.text);
    return 2;
  }
  close(file);
  for (size_t i = 0; i < scenes; i++) {
    for (int k = 0; k < 2; k++) {
      struct boundary_score score;
      if (!boundary_score_scene(first + i, APART[k], &source, path, &score, &error)) {
        fprintf(stderr, "seed %zu: %s\n", (size_t)first + i, error.text);
      }
      count(&tally[k], &score);
    }
  }
  printf("Boundaries, %s spectra, seeds %zu to %zu\n", measured ? "measured" : "formula-made", (size_t)first,
         (size_t)first + scenes - 1);
  print("two deposits, 2.0 apart", &tally[0], scenes);
  print("two halves of one deposit", &tally[1], scenes);
  source_clear(&source);
  return 0;
}
