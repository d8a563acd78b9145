/* SPDX-License-Identifier: MIT */
#include "base/file.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <nettle/sha2.h>

#include "base/text.h"

static bool cannot_read(struct error *error, const char *path, const char *why)
{
  return error_set(error, ERROR_FILE, "unreadable",
                   "%s can't be read: %s; check the name and the permissions", path, why);
}

/* Reads from an open file to its end, since pipes and /proc files don't know their size. */
static bool read_all(FILE *in, const char *path, size_t limit, struct file_bytes *bytes, struct error *error)
{
  size_t capacity = 65536, size = 0;
  uint8_t *data = malloc(capacity + 1);

  while (data) {
    size += fread(data + size, 1, capacity - size, in);
    if (size < capacity || size > limit) {
      break;
    }
    capacity *= 2;
    uint8_t *larger = realloc(data, capacity + 1);
    if (!larger) {
      free(data);
    }
    data = larger;
  }
  if (!data) {
    return error_no_memory(error, path);
  }
  data[size] = '\0';
  *bytes = (struct file_bytes){data, size};
  if (ferror(in)) {
    return cannot_read(error, path, strerror(errno));
  }
  if (size == 0) {
    return error_set(error, ERROR_FILE, "empty", "%s is empty; copy the file again", path);
  }
  if (size > limit) {
    return error_set(error, ERROR_FILE, "too-large",
                     "%s is larger than %zu MB; this is not a file that is measured here", path,
                     limit / 1000000);
  }
  return true;
}

bool file_read(const char *path, size_t limit, struct file_bytes *bytes, struct error *error)
{
  struct stat facts;
  FILE *in = fopen(path, "rb");

  *bytes = (struct file_bytes){0};
  if (!in) {
    return cannot_read(error, path, strerror(errno));
  }
  bool done = false;
  if (fstat(fileno(in), &facts) == 0 && S_ISDIR(facts.st_mode)) {
    error_set(error, ERROR_FILE, "directory", "%s is a directory; name the files in it", path);
  } else {
    done = read_all(in, path, limit, bytes, error);
  }
  if (!done) {
    file_bytes_clear(bytes);
  }
  fclose(in);
  return done;
}

void file_bytes_clear(struct file_bytes *bytes)
{
  free(bytes->data);
  *bytes = (struct file_bytes){0};
}

static bool write_all(int descriptor, const uint8_t *data, size_t size)
{
  while (size > 0) {
    ssize_t written = write(descriptor, data, size);
    if (written < 0 && errno == EINTR) {
      continue;
    }
    if (written <= 0) {
      return false;
    }
    data += written;
    size -= (size_t)written;
  }
  return true;
}

static bool cannot_write(struct error *error, const char *path)
{
  return error_set(error, ERROR_FILE, "unwritable", "%s can't be written: %s; choose another place", path,
                   strerror(errno));
}

/* mkstemp makes files for the owner only; give the new file what the user's umask would. */
static void give_usual_mode(int descriptor)
{
  mode_t mask = umask(0);

  umask(mask);
  (void)fchmod(descriptor, 0666 & ~mask);
}

/* A device or a pipe takes the bytes as they come; a rename would put a file in its place. */
static bool write_through(const char *path, const void *data, size_t size, struct error *error)
{
  int descriptor = open(path, O_WRONLY);
  bool done = descriptor >= 0 && write_all(descriptor, data, size);

  if (descriptor >= 0) {
    done = close(descriptor) == 0 && done;
  }
  return done || cannot_write(error, path);
}

/* Writes a new file beside `target` and renames it; `path` is what messages call it. */
static bool write_beside(const char *target, const char *path, const void *data, size_t size,
                         struct error *error)
{
  struct text beside = {0};

  text_format(&beside, "%s.XXXXXX", target);
  if (beside.failed) {
    text_clear(&beside);
    return error_no_memory(error, path);
  }
  int descriptor = mkstemp(beside.data);
  bool done = descriptor >= 0;
  if (done) {
    give_usual_mode(descriptor);
    done = write_all(descriptor, data, size);
    done = close(descriptor) == 0 && done;
    done = done && rename(beside.data, target) == 0;
  }
  if (!done) {
    cannot_write(error, path);
  }
  if (!done && descriptor >= 0) {
    unlink(beside.data);
  }
  text_clear(&beside);
  return done;
}

bool file_write(const char *path, const void *data, size_t size, struct error *error)
{
  struct stat facts;

  if (stat(path, &facts) == 0 && !S_ISREG(facts.st_mode)) {
    return write_through(path, data, size, error);
  }
  char *behind_links = realpath(path, NULL); /* NULL: there is no such file yet */
  bool done = write_beside(behind_links ? behind_links : path, path, data, size, error);
  free(behind_links);
  return done;
}

void file_sha256(const void *data, size_t size, char hex[65])
{
  struct sha256_ctx context;
  uint8_t digest[SHA256_DIGEST_SIZE];

  sha256_init(&context);
  sha256_update(&context, size, data);
  sha256_digest(&context, sizeof digest, digest);
  for (size_t i = 0; i < sizeof digest; i++) {
    snprintf(hex + 2 * i, 3, "%02x", digest[i]);
  }
}

const char *file_name(const char *path)
{
  const char *slash = strrchr(path, '/');

  return slash ? slash + 1 : path;
}
