/* SPDX-License-Identifier: MIT */
#include "measure/measure.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/file.h"
#include "base/order.h"
#include "colour/difference.h"
#include "image/blocks.h"
#include "measure/doubts.h"
#include "measure/glint.h"
#include "measure/propose.h"
#include "measure/shared.h"
#include "measure/values.h"

/* Camera and light are fitted in turn: each pass of the camera evens the patches by the light of the pass before. The
 * third pass moves readings by less than 0.02 CIEDE2000 (tests/measure). */
enum { PASSES = 3, BLOCK = 8 };

const char *verdict_word(enum verdict verdict)
{
  static const char *const word[] = {"sound", "doubtful", "unfit"};

  return word[verdict];
}

const char *budget_cause_word(enum budget_cause cause)
{
  static const char *const word[BUDGET_CAUSES] = {
      "spread inside the region",   "camera model from the card",   "light here against the card",
      "camera's own colour errors", "lean of the card on the face", "gloss of the surface"};

  return word[cause];
}

static bool load_photo(const char *path, struct measurement *m, struct error *error)
{
  struct file_bytes bytes;

  snprintf(m->file, sizeof m->file, "%s", file_name(path));
  if (!file_read(path, IMAGE_FILE_MAX, &bytes, error)) {
    return false;
  }
  file_sha256(bytes.data, bytes.size, m->sha256);
  bool done =
      image_decode(&bytes, path, &m->image, error) && encoding_of_image(&m->image, path, &m->encoding, error);
  file_bytes_clear(&bytes);
  return done;
}

/* Finds the card, or takes the corners given. A missing card is a result, not a failure. */
static bool locate_card(const struct image_blocks *blocks, const struct measure_options *options,
                        struct measurement *m, size_t *first, struct error *error)
{
  struct card_search search = {0};

  if (options->corners_given) {
    *first = 0;
    return card_pose_from_corners(&options->cards->card[0], options->corner, &m->pose, error);
  }
  if (!card_find(&m->image, blocks, options->cards, &search, error)) {
    return false;
  }
  m->pose = search.pose[0];
  *first = m->pose.card;
  m->second_card = search.count > 1;
  m->second_pose = search.pose[1];
  return true;
}

/* Patches that are enough for a camera, without those in the half shadow of an edge. */
static const size_t OFF_EDGE_LEAST = 8;

static bool on_edge(const struct measurement *m, size_t patch)
{
  return light_side_at(&m->light, m->patches.view[patch].centre) == LIGHT_ON_EDGE;
}

static bool enough_off_edge(const struct measurement *m)
{
  size_t count = 0;

  for (size_t i = 0; i < m->patches.count; i++) {
    count += m->patches.view[i].cause == CARD_USED && !on_edge(m, i);
  }
  return count >= OFF_EDGE_LEAST;
}

/* How far the share of a step inside a half shadow is off: its profile is not known better. */
static const double SHARE_OFF = 0.1;

/* What that makes of the light at a patch in it; all of them err alike, so none makes up for another. */
static struct mat3 half_shadow_noise(const struct measurement *m, const struct card_patch_view *view)
{
  struct vec3 off;

  for (int k = 0; k < 3; k++) {
    off.v[k] = SHARE_OFF * m->light.term[LIGHT_STEP_AT + k] * view->linear.v[k];
  }
  return mat3_scale(mat3_outer(off, off), (double)m->patches.count);
}

_Static_assert((int)CARD_PATCHES_MAX <= (int)PROFILE_SAMPLES_MAX,
               "a card may have more patches than a fit takes");

/* `lit`: the light is known, patches are evened by it, and those in the half shadow of an edge left out. */
static void fill_samples(const struct card_reference *card, struct measurement *m, bool lit)
{
  bool split = lit && enough_off_edge(m);

  for (size_t i = 0; i < m->patches.count; i++) {
    const struct card_patch_view *view = &m->patches.view[i];
    struct profile_sample *sample = &m->sample[i];
    struct vec3 gain = lit ? light_gain(&m->light, view->centre) : (struct vec3){{1, 1, 1}};
    bool shaded = split && view->cause == CARD_USED && on_edge(m, i);

    *sample = (struct profile_sample){.linear = view->linear,
                                      .gain = gain,
                                      .noise = view->covariance,
                                      .place = view->centre,
                                      .reference_d50 = card->patch[i].lab_d50,
                                      .tolerance = card->patch[i].tolerance,
                                      .grey = card->patch[i].grey,
                                      .cause = shaded ? CARD_SHADED : view->cause};
    if (lit && on_edge(m, i)) {
      sample->noise = mat3_add(sample->noise, half_shadow_noise(m, view));
    }
  }
}

/* Charts of different years differ by more than their makers' tolerance; the one that a plain fit suits best is taken. */
static bool choose_edition(const struct card_list *cards, size_t first, struct measurement *m,
                           struct error *error)
{
  double best = -INFINITY;
  struct profile profile;

  for (size_t i = 0; i < cards->count; i++) {
    if (strcmp(cards->card[i].layout, cards->card[first].layout) != 0) {
      continue;
    }
    fill_samples(&cards->card[i], m, false);
    if (!profile_fit(&m->encoding, PROFILE_SLOPE_UNKNOWN, m->sample, m->patches.count, &profile, error)) {
      return false;
    }
    if (profile.evidence > best) {
      best = profile.evidence;
      m->card = cards->card[i];
      m->profile = profile;
    }
  }
  return true;
}

static bool fit_camera_and_light(const struct image_blocks *blocks, struct measurement *m,
                                 struct error *error)
{
  for (int pass = 0; pass < PASSES; pass++) {
    if (!light_estimate(blocks, &m->profile, &m->card, &m->pose, &m->patches, &m->light, error)) {
      return false;
    }
    fill_samples(&m->card, m, true);
    if (!profile_fit(&m->encoding, PROFILE_SLOPE_ESTIMATED, m->sample, m->patches.count, &m->profile,
                     error)) {
      return false;
    }
  }
  return true;
}

static struct lab lab_of_patch(const struct measurement *m, const struct card_patch_view *view)
{
  struct vec3 linear;

  for (int k = 0; k < 3; k++) {
    linear.v[k] = profile_tone(&m->profile, view->linear.v[k]);
  }
  return profile_lab(&m->profile, vec3_divide(linear, light_gain(&m->light, view->centre)));
}

/* Reads the second card through the first one's model: an independent check of the whole chain. */
static void check_second_card(const struct card_list *cards, struct measurement *m)
{
  const struct card_reference *card = &cards->card[m->second_pose.card];
  struct card_patches patches = {0};
  struct error ignored; /* a second card too small to read is no check, and no fault */
  double off[CARD_PATCHES_MAX];
  size_t count = 0;

  m->second_card = card_patches_read(&m->image, &m->encoding, card, &m->second_pose, &patches, &ignored);
  for (size_t i = 0; m->second_card && i < patches.count; i++) {
    if (patches.view[i].cause == CARD_USED) {
      off[count++] = colour_de00(lab_of_patch(m, &patches.view[i]), card->patch[i].lab_d50);
    }
  }
  m->second_card = m->second_card && count > 0;
  m->second_card_error = order_upper_median(off, count);
  card_patches_clear(&patches);
}

/* Patches that come out further off than this in the median, a whole chip step, when left out of the fit are not the card's: the
 * corners given by hand point elsewhere, or another card stands there. A reading made from them would be an invention. A card that
 * was found has been recognised by its colours; there the same is a doubt. */
static const double NO_SUCH_CARD = 10;

static bool check_corners(const struct profile *profile, struct error *error)
{
  if (profile->left_one_out.median > NO_SUCH_CARD) {
    return error_set(error, ERROR_UNMEASURABLE, "no-such-card",
                     "what lies where the card should be is no such card (its patches come out %.0f "
                     "CIEDE2000 off); correct "
                     "--patches or --card",
                     profile->left_one_out.median);
  }
  return true;
}

static bool read_card(const struct image_blocks *blocks, const struct measure_options *options,
                      struct measurement *m, struct error *error)
{
  size_t first;

  if (!locate_card(blocks, options, m, &first, error) ||
      !card_patches_read(&m->image, &m->encoding, &options->cards->card[first], &m->pose, &m->patches,
                         error)) {
    return false;
  }
  m->sample = calloc(m->patches.count, sizeof *m->sample);
  if (!m->sample) {
    return error_no_memory(error, "the card's patches");
  }
  if (!choose_edition(options->cards, first, m, error) || !fit_camera_and_light(blocks, m, error) ||
      (options->corners_given && !check_corners(&m->profile, error))) {
    return false;
  }
  if (m->second_card) {
    check_second_card(options->cards, m);
  }
  return true;
}

void measure_part(const struct measurement *m, const struct shared_unknowns *shared,
                  const struct region *region, struct reading *reading)
{
  struct error *error = &reading->error;

  *reading = (struct reading){.region = region};
  if (!region_measure(&m->image, &m->profile, &m->light, reading->region, &reading->statistics, error)) {
    return;
  }
  glint_take_out(&m->profile, m->patches.blur, reading);
  reading->lab_d50 = profile_lab(&m->profile, reading->statistics.linear);
  shared_propagate(&m->profile, &m->light, shared, reading);
  reading->measured = values_fill(reading, error);
}

static void read_region(const struct measurement *m, const struct shared_unknowns *shared,
                        const struct region *region, struct reading *reading)
{
  *reading = (struct reading){.region = region};
  if (region_check(region, m->image.width, m->image.height, &reading->error)) {
    measure_part(m, shared, region, reading);
  }
}

void measure_region(const struct measurement *m, const struct region *region, struct reading *reading)
{
  struct shared_unknowns shared;

  shared_unknowns_make(&m->profile, &m->light, &shared);
  read_region(m, &shared, region, reading);
}

static bool belongs(const struct region *region, const struct measurement *m)
{
  return region->photo[0] == '\0' || strcmp(file_name(region->photo), m->file) == 0;
}

static bool read_regions(const struct region_list *list, struct measurement *m, struct error *error)
{
  struct shared_unknowns shared;

  m->reading = calloc(list->count ? list->count : 1, sizeof *m->reading);
  if (!m->reading) {
    return error_no_memory(error, "the readings");
  }
  shared_unknowns_make(&m->profile, &m->light, &shared);
  for (size_t i = 0; i < list->count; i++) {
    if (belongs(&list->region[i], m)) {
      read_region(m, &shared, &list->region[i], &m->reading[m->readings++]);
    }
  }
  return true;
}

static bool propose_and_read(const struct image_blocks *blocks, struct measurement *m, struct error *error)
{
  m->proposed = true;
  return propose_deposits(blocks, m, &m->proposal, error) && read_regions(&m->proposal.regions, m, error);
}

bool measure_photo(const char *path, const struct measure_options *options, struct measurement *m,
                   struct error *error)
{
  struct image_blocks blocks = {0};
  bool done = false;

  *m = (struct measurement){.verdict = VERDICT_UNFIT};
  if (!load_photo(path, m, error) || !image_blocks_make(&m->image, BLOCK, &blocks, error)) {
    goto end;
  }
  m->card_found = read_card(&blocks, options, m, &m->card_error);
  if (!m->card_found && m->card_error.kind != ERROR_UNMEASURABLE) {
    *error = m->card_error;
    goto end;
  }
  if (m->card_found && options->regions && !read_regions(options->regions, m, error)) {
    goto end;
  }
  if (m->card_found && options->propose && !options->regions && !propose_and_read(&blocks, m, error)) {
    goto end;
  }
  done = doubts_list(m, error);
end:
  image_blocks_clear(&blocks);
  if (!done) {
    measurement_clear(m);
  }
  return done;
}

void measurement_clear(struct measurement *m)
{
  image_clear(&m->image);
  card_patches_clear(&m->patches);
  free(m->sample);
  free(m->reading);
  proposal_clear(&m->proposal);
  free(m->caveat);
  *m = (struct measurement){.verdict = VERDICT_UNFIT};
}
