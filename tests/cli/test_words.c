/* SPDX-License-Identifier: MIT */
/* Every way of using the wrong words: nothing on standard output, one line on standard error that says what is wrong and what
 * to do, status 2, before any photo is opened. */
#include <check.h>
#include <stdlib.h>
#include <string.h>

#include "run.h"
#include "suite.h"

static const struct {
  const char *words, *input, *said;
} WRONG[] = {
    {"", "", "no command is given; begin with"},
    {"raed a.jpg", "", "no command is called raed; the nearest is read"},
    {"chekc", "", "no command is called chekc; the nearest is check"},
    {"help konvert", "", "no command is called konvert; the nearest is convert"},
    {"--versoin", "", "no command is called --versoin; the nearest is --version"},
    {"hepl", "", "no command is called hepl; the nearest is help"},
    {"frobnicate", "", "no command is called frobnicate; `tawny --help` lists all"},
    {"read", "", "no photo is named"},
    {"check", "", "no photo is named"},
    {"read --json", "", "no photo is named"},
    {"read -", "", "standard input names no photo"},
    {"read -", "\n\r\n\n", "standard input names no photo"},
    {"read - -", "a.jpg\n", "given twice"},
    {"read a.jpg --jsn", "", "read has no option --jsn; the nearest is --json"},
    {"read a.jpg --overlap x.png", "", "read has no option --overlap; the nearest is --overlay"},
    {"read a.jpg --Json", "", "read has no option --Json; the nearest is --json"},
    {"read a.jpg --region=r.csv", "", "read has no option --region; the nearest is --regions"},
    {"read a.jpg --hlep", "", "the nearest is --help"},
    {"read a.jpg -j", "", "read has no option -j; `tawny read --help` lists all"},
    {"read a.jpg -json", "", "read has no option -json; the nearest is --json"},
    {"check a.jpg --regions r.csv", "", "check has no option --regions; `tawny check --help` lists all"},
    {"convert --precice", "", "convert has no option --precice; the nearest is --precise"},
    {"convert 10YR", "", "convert takes no names, and 10YR is given"},
    {"read a.jpg --regions", "", "--regions needs a value; write --regions FILE"},
    {"read a.jpg --regions=", "", "--regions needs a value"},
    {"read a.jpg --regions --json", "", "--regions needs a value"},
    {"read a.jpg --json=yes", "", "--json takes no value; leave out =yes"},
    {"read a.jpg --json --json", "", "--json is given twice"},
    {"read a.jpg --card=a --card b", "", "--card is given twice"},
    {"read a.jpg --json --explain", "", "leave one of them out"},
    {"read a.jpg --card chart25", "", "no card is called \"chart25\""},
    {"read a.jpg --patches 1,2", "", "is not four places in pixels"},
    {"read a.jpg --patches '1,2 3,4 5,6 7,8 9,10'", "", "is not four places in pixels"},
    {"read a.jpg --patches '1,2 3,4 5,6 7,x'", "", "is not four places in pixels"},
    {"read a.jpg --patches '1,2 3,4 5,6 7,1e7'", "", "is not four places in pixels"},
    {"read a.jpg --patches '1,2 3,4 5,6 7,nan'", "", "is not four places in pixels"},
    {"read a.jpg --patches '10,10 20,20 30,30 40,40'", "", "corners"},
    {"read a.jpg --patches '10,10 10,90 90,90 90,10'", "", "the wrong way round"},
    {"read a.jpg --icc a.profile", "", "--icc a.profile does not end in .icc"},
    {"read a.jpg --corrected a.tif", "", "--corrected a.tif does not end in .jpg or .png"},
    {"read a.jpg --overlay a.jpeg", "", "--overlay a.jpeg does not end in .png"},
    {"read a.jpg --overlay .png", "", "--overlay .png does not end in .png"},
    {"read a.jpg b.jpg --icc a.icc", "", "--icc writes a file of one photo, and 2 are given"},
    {"read a.jpg b.jpg --corrected a.png", "", "--corrected writes a file of one photo, and 2 are given"},
    {"read - --overlay a.png", "a.jpg\nb.jpg\nc.jpg\n",
     "--overlay writes a file of one photo, and 3 are given"},
    {"compare", "", "no photo and no saved readings are named; give one or more of either"},
    {"compar a.jpg", "", "no command is called compar; the nearest is compare"},
    {"compare a.jpg --pair a:b", "", "compare has no option --pair; the nearest is --pairs"},
    {"compare a.jpg --estimate-dry=yes", "", "--estimate-dry takes no value"},
    {"compare a.jpg --picture a.pdf", "",
     "a.pdf does not say which picture format is wanted; end the name in .svg or .png"},
    {"read a.jpg --corrected a.jpg", "", "--corrected would write over the photo a.jpg"},
    {"read a.jpg --regions b.png --overlay b.png", "", "--overlay would write over the outlines b.png"},
    {"propose a.jpg --card b.json --outlines b.json", "",
     "--outlines would write over the card's file b.json"},
    {"compare a.jpg b.png --picture b.png", "", "--picture would write over the photo b.png"},
    {"edge a.jpg --regions b.svg --picture b.svg", "", "--picture would write over the outlines b.svg"},
    {"read a.jpg --corrected o.png --overlay o.png", "",
     "--corrected and --overlay would write the same file"},
};

static void expect_one_line(const char *text)
{
  const char *end = strchr(text, '\n');

  ck_assert_msg(strncmp(text, "tawny: ", 7) == 0 && end && end[1] == '\0', "not one line of tawny:\n%s",
                text);
}

START_TEST(wrong_words_are_named)
{
  struct run run = run_tawny("/", WRONG[_i].words, WRONG[_i].input);

  ck_assert_msg(run.status == 2, "%s: status %d", WRONG[_i].words, run.status);
  ck_assert_msg(run.out_size == 0, "%s: standard output has %s", WRONG[_i].words, run.out);
  expect_one_line(run.err);
  ck_assert_msg(strstr(run.err, WRONG[_i].said) != NULL, "%s: expected \"%s\", got %s", WRONG[_i].words,
                WRONG[_i].said, run.err);
  run_clear(&run);
}
END_TEST

static const char *const HELP[] = {
    "--help",     "-h",         "help",          "read --help",     "help read", "check --help",
    "help check", "convert -h", "read a.jpg -h", "read --help=all", "--version", "help convert"};

START_TEST(help_goes_to_standard_output)
{
  struct run run = run_tawny("/", HELP[_i], "");

  ck_assert_msg(run.status == 0, "%s: status %d", HELP[_i], run.status);
  ck_assert_msg(strstr(run.out, "tawny") != NULL, "%s: %s", HELP[_i], run.out);
  ck_assert_str_eq(run.err, "");
  run_clear(&run);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("words");
  TCase *tcase = tcase_create("words");

  tcase_set_timeout(tcase, 60);
  tcase_add_loop_test(tcase, wrong_words_are_named, 0, (int)(sizeof WRONG / sizeof *WRONG));
  tcase_add_loop_test(tcase, help_goes_to_standard_output, 0, (int)(sizeof HELP / sizeof *HELP));
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
