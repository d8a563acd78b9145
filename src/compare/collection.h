/* SPDX-License-Identifier: MIT */
/* Readings of several photos side by side, measured now or saved before. */
#ifndef TAWNY_COMPARE_COLLECTION_H
#define TAWNY_COMPARE_COLLECTION_H

#include "compare/boundary.h"

enum { COLLECTION_MAX = 20000 }; /* readings: 200 million pairs, some minutes of work */

struct collected_photo {
  char file[256];
  char sha256[65];     /* "" where a saved file does not say                                       */
  bool shares;         /* false: saved without what its readings share, which then cancels nowhere */
  size_t first, count; /* its readings                                                            */
};

struct collected {
  size_t photo;           /* index                                                               */
  struct region region;   /* owned facts; no outline                                             */
  struct reading reading; /* measured, region NULL; of saved ones statistics and causes are empty */
  size_t columns;         /* of reading.shared that are in use                                   */
  bool doubtful;          /* the photo's verdict was not sound                                   */
};

/* Two outlines that touch. */
struct collected_touch {
  size_t a, b; /* a < b */
  bool saved;  /* no photo at hand to look along the boundary: `boundary` is empty */
  struct boundary boundary;
};

struct collection {
  struct collected *item; /* owned, photo after photo */
  size_t count, capacity;
  struct collected_photo *photo; /* owned */
  size_t photos;
  struct collected_touch *touch; /* owned, by rising a, then b */
  size_t touches;
};

/* Adds the measured readings of a photo; regions that could not be read are passed over, since they were told of before. Bands
 * along common boundaries are compared here, while the photo is at hand. ERROR_USAGE "given-twice" for a region of a photo
 * that is in the collection already. Nothing is added when it fails. */
bool collection_add_photo(struct collection *collection, const struct measurement *measurement,
                          struct error *error);

/* For readers of saved files: begins a photo; adds an empty reading to the last one, handed back to be filled; adds a touching
 * pair. NULL or false: no memory, or too many. */
struct collected_photo *collection_begin_photo(struct collection *collection, struct error *error);
struct collected *collection_add(struct collection *collection, struct error *error);
bool collection_add_touch(struct collection *collection, struct collected_touch touch, struct error *error);

/* Takes away all photos from index `photos` on, with their readings: what a file that failed half-way has added. */
void collection_shorten(struct collection *collection, size_t photos);

/* Checks the last photo against those before it: ERROR_USAGE "given-twice". */
bool collection_check_new(const struct collection *collection, struct error *error);

void collection_clear(struct collection *collection);

/* The touching pair of two readings, in either order; NULL where they don't touch. */
const struct collected_touch *collection_touch(const struct collection *collection, size_t a, size_t b);

/* The difference b minus a: what readings of one photo share cancels, those of different photos share nothing that is
 * known. Those that touch are compared across their boundary (measure/difference.h); of saved ones a step that may be a shadow's
 * edge can't be taken out, since their columns are no longer one unknown each. */
struct difference collection_difference(const struct collection *collection, size_t a, size_t b);

/* Covariance of a sum of weight[i] times reading[i] in Lab; weights of readings that don't count are 0. */
struct mat3 collection_covariance(const struct collection *collection, const double *weight);

/* Variance of a function of the readings whose gradient in the Lab of reading i is gradient[i]. */
double collection_variance(const struct collection *collection, const struct vec3 *gradient);

#endif
