/* SPDX-License-Identifier: MIT */
#include "card/find.h"

#include "card/find_parts.h"

enum {
  WHOLE_PIXELS = 400000, /* of the first picture, at most                             */
  FINER_PIXELS = 600000, /* a finer picture of the whole photo, at most: memory       */
  COARSE_SIDE = 48,      /* least side of a coarser picture                           */
  WINDOW = 192,          /* side of a window of a finer picture: twice a card in it   */
  WINDOWS = 32           /* of a scale: time                                          */
};

static bool nothing_found(enum find_nearest nearest, struct error *error)
{
  switch (nearest) {
  case FIND_TOO_SMALL:
    return error_set(
        error, ERROR_UNMEASURABLE, "card-too-small",
        "the card's patches are under %d pixels wide in the photo; go nearer or use a longer lens",
        FIND_PATCH_MIN);
  case FIND_MIRRORED:
    return error_set(error, ERROR_UNMEASURABLE, "card-mirrored",
                     "the card appears mirrored; mirror the photo back before reading it");
  case FIND_CUT:
    return error_set(error, ERROR_UNMEASURABLE, "card-cut",
                     "the card is cut off by the frame or partly hidden; show the whole card");
  case FIND_OTHER_CARD:
    return error_set(error, ERROR_UNMEASURABLE, "other-card",
                     "there is a colour chart, but none that is known; name its card file with --card");
  default:
    return error_set(
        error, ERROR_UNMEASURABLE, "no-card",
        "no colour card found in the photo; give the centres of its corner patches with --patches");
  }
}

static bool not_searched_for(enum find_unfit unfit, struct error *error)
{
  switch (unfit) {
  case FIND_MANY:
    return error_set(
        error, ERROR_UNMEASURABLE, "no-card",
        "this card has more than %d patches, too many to be searched for; give its corner places with "
        "--patches",
        FIND_CELLS);
  case FIND_NO_LATTICE:
    return error_set(
        error, ERROR_UNMEASURABLE, "no-card",
        "this card's patches do not fill even rows and columns, so that it can't be searched for; give its "
        "corner places with --patches");
  default:
    return error_set(
        error, ERROR_UNMEASURABLE, "no-card",
        "this card is not colourful enough to be searched for; give its corner places with --patches");
  }
}

static struct find_window whole_of(const struct image *image)
{
  return (struct find_window){0, 0, image->width, image->height};
}

/* One scale of the whole photo. */
static bool whole_search(struct find_hunt *hunt, int step, struct error *error)
{
  struct find_picture picture;
  bool done = find_picture_make(hunt->image, hunt->blocks, &hunt->tone, whole_of(hunt->image), step, &picture,
                                error) &&
              find_hunt_picture(hunt, &picture, error);

  find_picture_clear(&picture);
  return done;
}

/* A window of `WINDOW` boxes of `step` pixels round a place of the photo, pushed into the frame. */
static struct find_window window_round(const struct image *image, int x, int y, int step)
{
  int side = WINDOW * step, width = side < image->width ? side : image->width,
      height = side < image->height ? side : image->height;
  int left = x - width / 2, top = y - height / 2;

  left = left < 0 ? 0 : left > image->width - width ? image->width - width : left;
  top = top < 0 ? 0 : top > image->height - height ? image->height - height : top;
  return (struct find_window){left, top, width, height};
}

/* One finer scale where the first picture is most colourful, best places first. */
static bool places_search(struct find_hunt *hunt, struct find_places *places, int first_step, int step,
                          struct error *error)
{
  int cell = FIND_CELL * first_step, reach = WINDOW * step / cell / 4, column, row;

  find_places_rank(places, reach < 2 ? 2 : reach);
  for (int i = 0; i < WINDOWS && hunt->search->count == 0 && find_places_take(places, reach, &column, &row);
       i++) {
    struct find_window window =
        window_round(hunt->image, column * cell + cell / 2, row * cell + cell / 2, step);
    struct find_picture picture;
    bool done = find_picture_make(hunt->image, hunt->blocks, &hunt->tone, window, step, &picture, error) &&
                find_hunt_picture(hunt, &picture, error);

    find_picture_clear(&picture);
    if (!done) {
      return false;
    }
  }
  return true;
}

static bool finer_search(struct find_hunt *hunt, const struct find_picture *first, struct error *error)
{
  struct find_places places = {0};
  bool done = find_places_make(first, &places, error);

  for (int step = first->step / 2; done && step >= 1 && hunt->search->count == 0; step /= 2) {
    if ((long)(hunt->image->width / step) * (hunt->image->height / step) <= FINER_PIXELS) {
      done = whole_search(hunt, step, error);
    } else {
      done = places_search(hunt, &places, first->step, step, error);
    }
  }
  find_places_clear(&places);
  return done;
}

/* Blurred and coarse-grained cards. */
static bool coarser_search(struct find_hunt *hunt, int first_step, struct error *error)
{
  int least = hunt->image->width < hunt->image->height ? hunt->image->width : hunt->image->height;

  for (int step = 2 * first_step; least / step >= COARSE_SIDE && hunt->search->count == 0; step *= 2) {
    if (!whole_search(hunt, step, error)) {
      return false;
    }
  }
  return true;
}

static int first_step_of(const struct image *image)
{
  int step = 1;

  while ((long)(image->width / step) * (image->height / step) > WHOLE_PIXELS) {
    step *= 2;
  }
  return step;
}

static void best_first(struct card_search *search)
{
  if (search->count == 2 && search->pose[1].fit > search->pose[0].fit) {
    struct card_pose other = search->pose[0];

    search->pose[0] = search->pose[1];
    search->pose[1] = other;
  }
}

bool card_find(const struct image *image, const struct image_blocks *blocks, const struct card_list *list,
               struct card_search *search, struct error *error)
{
  struct find_hunt hunt = {.image = image, .blocks = blocks, .list = list, .search = search};
  struct find_picture first = {0};
  int step = first_step_of(image);
  enum find_unfit unfit;
  bool done;

  *search = (struct card_search){0};
  hunt.layouts = find_layouts_make(list, hunt.layout, &unfit);
  if (hunt.layouts == 0) {
    return not_searched_for(unfit, error);
  }
  find_tone_make(blocks, &hunt.tone);
  done = find_picture_make(image, blocks, &hunt.tone, whole_of(image), step, &first, error) &&
         find_hunt_picture(&hunt, &first, error) && coarser_search(&hunt, step, error) &&
         (search->count > 0 || finer_search(&hunt, &first, error));
  find_picture_clear(&first);
  best_first(search);
  return done && (search->count > 0 || nothing_found(hunt.nearest, error));
}
