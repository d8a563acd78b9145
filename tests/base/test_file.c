/* SPDX-License-Identifier: MIT */
#include <check.h>
#include <dirent.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/file.h"
#include "random.h"
#include "suite.h"

static char folder[] = "/tmp/tawny-file-XXXXXX";

static void make_folder(void)
{
  ck_assert_ptr_nonnull(mkdtemp(folder));
}

static int entries_in_folder(bool removing)
{
  DIR *entries = opendir(folder);
  struct dirent *entry;
  int count = 0;

  ck_assert_ptr_nonnull(entries);
  while ((entry = readdir(entries))) {
    char path[600];
    snprintf(path, sizeof path, "%s/%s", folder, entry->d_name);
    count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    if (removing && unlink(path) != 0) {
      rmdir(path);
    }
  }
  closedir(entries);
  return count;
}

static void remove_folder(void)
{
  entries_in_folder(true);
  rmdir(folder);
  strcpy(folder + sizeof folder - 7, "XXXXXX");
}

static const char *in_folder(const char *name)
{
  static char path[600];

  snprintf(path, sizeof path, "%s/%s", folder, name);
  return path;
}

START_TEST(written_bytes_are_read_again)
{
  static const size_t SIZES[] = {1, 65535, 65536, 65537, 131072, 1000003};
  size_t size = SIZES[_i];
  uint8_t *data = malloc(size);
  struct random random = random_start(7);
  struct file_bytes bytes;
  struct error error;

  ck_assert_ptr_nonnull(data);
  for (size_t i = 0; i < size; i++) {
    data[i] = (uint8_t)random_bits(&random);
  }
  ck_assert_msg(file_write(in_folder("a"), data, size, &error), "%s", error.text);
  ck_assert_msg(file_read(in_folder("a"), 1000003, &bytes, &error), "%s", error.text);
  ck_assert_uint_eq(bytes.size, size);
  ck_assert_mem_eq(bytes.data, data, size);
  ck_assert_int_eq(bytes.data[size], 0);
  ck_assert_int_eq(entries_in_folder(false), 1);
  file_bytes_clear(&bytes);
  ck_assert(!bytes.data && bytes.size == 0);
  free(data);
}
END_TEST

static void assert_unreadable(const char *path, size_t limit, const char *code)
{
  struct file_bytes bytes;
  struct error error = {0};

  ck_assert(!file_read(path, limit, &bytes, &error));
  ck_assert_msg(strcmp(error.code, code) == 0, "%s: %s", error.code, error.text);
  ck_assert_int_eq(error.kind, ERROR_FILE);
  ck_assert(strstr(error.text, path) && strchr(error.text, ';'));
  ck_assert(!bytes.data && bytes.size == 0);
}

START_TEST(what_cannot_be_read_is_told)
{
  struct error error;

  assert_unreadable(in_folder("missing"), 100, "unreadable");
  assert_unreadable(folder, 100, "directory");
  ck_assert(file_write(in_folder("none"), "", 0, &error));
  assert_unreadable(in_folder("none"), 100, "empty");
  ck_assert(file_write(in_folder("eleven"), "hello world", 11, &error));
  assert_unreadable(in_folder("eleven"), 10, "too-large");
  assert_unreadable("/dev/zero", 100000, "too-large");
}
END_TEST

START_TEST(exactly_the_limit_is_allowed)
{
  struct error error;
  struct file_bytes bytes;

  ck_assert(file_write(in_folder("a"), "hello world", 11, &error));
  ck_assert(file_read(in_folder("a"), 11, &bytes, &error));
  file_bytes_clear(&bytes);
}
END_TEST

/* Files whose size the system doesn't tell. */
START_TEST(files_without_a_size_are_read_whole)
{
  struct file_bytes bytes;
  struct error error;

  ck_assert_msg(file_read("/proc/self/status", 1000000, &bytes, &error), "%s", error.text);
  ck_assert_msg(strstr((char *)bytes.data, "Name:"), "%s", bytes.data);
  file_bytes_clear(&bytes);
}
END_TEST

static void assert_unwritable(const char *path)
{
  struct error error = {0};

  ck_assert(!file_write(path, "new", 3, &error));
  ck_assert_str_eq(error.code, "unwritable");
  ck_assert_int_eq(error.kind, ERROR_FILE);
  ck_assert_msg(strstr(error.text, path), "%s", error.text);
}

START_TEST(failed_writing_leaves_nothing)
{
  ck_assert_int_eq(mkdir(in_folder("sub"), 0777), 0);
  assert_unwritable(in_folder("sub")); /* a directory */
  assert_unwritable(in_folder("no/such/folder"));
  ck_assert_int_eq(entries_in_folder(false), 1);
  assert_unwritable("/dev/full");
}
END_TEST

/* As on a full disk: no file may grow past ten bytes. */
START_TEST(cut_off_writing_keeps_the_old_file)
{
  struct error error;
  struct file_bytes bytes;
  struct rlimit limit, tight;

  ck_assert(file_write(in_folder("a"), "old", 3, &error));
  signal(SIGXFSZ, SIG_IGN);
  getrlimit(RLIMIT_FSIZE, &limit);
  tight = limit;
  tight.rlim_cur = 10;
  setrlimit(RLIMIT_FSIZE, &tight);
  bool done = file_write(in_folder("a"), "longer than ten bytes", 21, &error);
  setrlimit(RLIMIT_FSIZE, &limit);
  ck_assert(!done);
  ck_assert_str_eq(error.code, "unwritable");
  ck_assert_int_eq(entries_in_folder(false), 1);
  ck_assert(file_read(in_folder("a"), 100, &bytes, &error));
  ck_assert_str_eq((char *)bytes.data, "old");
  file_bytes_clear(&bytes);
}
END_TEST

START_TEST(devices_stay_devices)
{
  struct error error;
  struct stat facts;

  ck_assert_msg(file_write("/dev/null", "gone", 4, &error), "%s", error.text);
  ck_assert_int_eq(stat("/dev/null", &facts), 0);
  ck_assert(S_ISCHR(facts.st_mode));
}
END_TEST

/* The old file stays whole for who has it open, and the new one has the mode that the user's mask gives. */
START_TEST(old_file_is_replaced_not_overwritten)
{
  struct error error;
  struct stat facts;
  char old[4] = "";

  ck_assert(file_write(in_folder("a"), "old", 3, &error));
  FILE *open_file = fopen(in_folder("a"), "rb");
  ck_assert_ptr_nonnull(open_file);
  mode_t mask = umask(027);
  ck_assert(file_write(in_folder("a"), "newer", 5, &error));
  umask(mask);
  ck_assert_uint_eq(fread(old, 1, 3, open_file), 3);
  ck_assert_str_eq(old, "old");
  fclose(open_file);
  ck_assert_int_eq(stat(in_folder("a"), &facts), 0);
  ck_assert_int_eq(facts.st_mode & 0777, 0640);
  ck_assert_int_eq(facts.st_size, 5);
  ck_assert_int_eq(entries_in_folder(false), 1);
}
END_TEST

/* A link to a file stays one. */
START_TEST(links_are_followed)
{
  struct error error;
  struct file_bytes bytes;
  struct stat facts;
  char target[600];

  snprintf(target, sizeof target, "%s", in_folder("target"));
  ck_assert(file_write(target, "old", 3, &error));
  ck_assert_int_eq(symlink("target", in_folder("link")), 0);
  ck_assert_msg(file_write(in_folder("link"), "new", 3, &error), "%s", error.text);
  ck_assert(lstat(in_folder("link"), &facts) == 0 && S_ISLNK(facts.st_mode));
  ck_assert(file_read(target, 10, &bytes, &error));
  ck_assert_str_eq((char *)bytes.data, "new");
  file_bytes_clear(&bytes);
}
END_TEST

/* FIPS 180-2, appendix B (one block, two blocks, a million letters), and the empty message of NIST's examples. */
static const struct {
  const char *text;
  int times;
  const char *hash;
} HASHES[] = {
    {"abc", 1, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"},
    {"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", 1,
     "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"},
    {"a", 1000000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"},
    {"", 1, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"},
};

START_TEST(hashes_are_the_published_ones)
{
  size_t length = strlen(HASHES[_i].text), size = length * (size_t)HASHES[_i].times;
  char *message = malloc(size + 1), hex[65];

  ck_assert_ptr_nonnull(message);
  for (size_t i = 0; i < size; i++) {
    message[i] = HASHES[_i].text[i % length];
  }
  file_sha256(message, size, hex);
  ck_assert_str_eq(hex, HASHES[_i].hash);
  free(message);
}
END_TEST

START_TEST(name_is_the_part_behind_the_last_slash)
{
  ck_assert_str_eq(file_name("a/b/c.jpg"), "c.jpg");
  ck_assert_str_eq(file_name("c.jpg"), "c.jpg");
  ck_assert_str_eq(file_name("/"), "");
  ck_assert_str_eq(file_name(""), "");
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("base/file");
  TCase *cases = tcase_create("file");

  tcase_add_checked_fixture(cases, make_folder, remove_folder);
  tcase_add_loop_test(cases, written_bytes_are_read_again, 0, 6);
  tcase_add_test(cases, what_cannot_be_read_is_told);
  tcase_add_test(cases, exactly_the_limit_is_allowed);
  tcase_add_test(cases, files_without_a_size_are_read_whole);
  tcase_add_test(cases, failed_writing_leaves_nothing);
  tcase_add_test(cases, cut_off_writing_keeps_the_old_file);
  tcase_add_test(cases, devices_stay_devices);
  tcase_add_test(cases, old_file_is_replaced_not_overwritten);
  tcase_add_test(cases, links_are_followed);
  tcase_add_loop_test(cases, hashes_are_the_published_ones, 0, sizeof HASHES / sizeof *HASHES);
  tcase_add_test(cases, name_is_the_part_behind_the_last_slash);
  suite_add_tcase(suite, cases);
  return run_suite(suite);
}
