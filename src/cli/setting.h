/* SPDX-License-Identifier: MIT */
/* How photos are to be measured, as --regions, --card and --patches say. */
#ifndef TAWNY_CLI_SETTING_H
#define TAWNY_CLI_SETTING_H

#include "measure/measure.h"

struct setting {
  struct card_list cards;         /* owned                        */
  struct region_list regions;     /* owned                        */
  struct measure_options options; /* borrows both; do not copy    */
};

/* Opens what the options name; each may be NULL: not given. `photos` is how many are going to be measured: with several, each
 * region has to name its photo. Clear it also when this fails. */
bool setting_open(struct setting *setting, const char *regions, const char *card, const char *patches,
                  size_t photos, struct error *error);
void setting_clear(struct setting *setting);

#endif
