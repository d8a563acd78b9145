/* SPDX-License-Identifier: MIT */
/* Reads the lines that browser.js writes on standard input, prints how far reading and browser are apart, and fails where that is
 * more than allowed or where nothing was compared. */
#include <stdbool.h>
#include <stdio.h>

#include "camera.h"
#include "colour/difference.h"

/* CIEDE2000: what the project promises of --corrected in a browser. */
static const double ALLOWED = 1.0;
/* Pixels at an end of sRGB's scale that still tell the colour: a hundredth moves a mean by less than 0.1. */
static const double ENDS = 0.01;

/* False where the region is too far apart. Counts those that lie inside sRGB. */
static bool compare(const char *line, int *compared)
{
  char region[64];
  struct lab read;
  struct vec3 shown;
  double ends;

  if (sscanf(line, "region %63s %lf %lf %lf %lf %lf %lf %lf", region, &read.L, &read.a, &read.b, &shown.v[0],
             &shown.v[1], &shown.v[2], &ends) != 8) {
    return true;
  }
  if (ends > ENDS) {
    printf("  %-20s outside sRGB\n", region);
    return true;
  }
  struct xyz c = colour_xyz_from_vec(mat3_apply(camera_xyz_d50_from_linear(), shown));
  double apart = colour_de00(read, colour_lab_from_xyz(c, COLOUR_WHITE_D50));
  printf("  %-20s %.3f\n", region, apart);
  *compared += 1;
  return apart <= ALLOWED;
}

int main(void)
{
  char line[4096];
  int compared = 0;
  bool sound = true;

  while (fgets(line, sizeof line, stdin)) {
    sound &= compare(line, &compared);
  }
  if (compared == 0) {
    printf("  nothing was compared\n");
  }
  return sound && compared > 0 ? 0 : 1;
}
