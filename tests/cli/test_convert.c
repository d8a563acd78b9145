/* SPDX-License-Identifier: MIT */
/* Lines one by one, and the program as others run it; TAWNY_PROGRAM in the environment names it. */
#include <check.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/text.h"
#include "cli/convert_line.h"
#include "munsell/notation.h"
#include "random.h"
#include "suite.h"

enum { SEED = 1931, RUNS = 5000 };

/* Half of the last place that is printed, and what rounding of the others does to it. */
static const double PRECISE = 2e-6;

static bool convert(const char *line, bool precise, char text[CONVERT_TEXT_SIZE])
{
  return convert_line(line, strlen(line), precise, text);
}

/* Notation, chip, name; x and y as the renotation prints them (Newhall, Nickerson & Judd 1943), Y by ASTM D1535. */
static const struct {
  const char *line, *begin, *end;
} CONVERTED[] = {
    {"10YR 4/4", "10.00YR 4.00/4.00\t10YR 4/4\tdark yellowish brown\t", "\t0.4189 0.3948 11.701"},
    {"10yr4/4", "10.00YR 4.00/4.00\t10YR 4/4\tdark yellowish brown\t", "\t0.4189 0.3948 11.701"},
    {"  10YR\t4/4  ", "10.00YR 4.00/4.00\t10YR 4/4\tdark yellowish brown\t", "\t0.4189 0.3948 11.701"},
    {"xyY 0.4189 0.3948 11.7008", "10.00YR 4.00/4.00\t10YR 4/4\tdark yellowish brown\t",
     "\t0.4189 0.3948 11.701"},
    {"xyY\t4189e-4 .3948 +11.7008", "10.00YR 4.00/4.00\t10YR 4/4\tdark yellowish brown\t",
     "\t0.4189 0.3948 11.701"},
    {"5GY 6/2", "5.00GY 6.00/2.00\t5GY 6/1\tgreenish gray\t", "\t0.3288 0.3592 29.301"},
    {"2.5R 5/4", "2.50R 5.00/4.00\t10R 5/3\tweak red\t", "\t0.3660 0.3148 19.272"},
    {"N 5/", "N 5.00/\tN 5/\tgray\t51.004 0.000 0.000\t", "\t0.3101 0.3162 19.272"},
    {"7.5YR 2/0", "N 2.00/\tN 2/\tblack\t20.236 0.000 0.000\t", "\t0.3101 0.3162 3.048"},
    {"lab 100 0 0", "N 10.00/\t", "\t100.000 0.000 0.000\t0.3101 0.3162 100.000"},
    {"srgb #ffffff", "N 10.00/\t", "\t100.000 0.000 0.000\t0.3101 0.3162 100.000"},
    {"srgb #000000", "N 0.00/\tN 2/\tblack\t", "\t0.000 0.000 0.000\t0.3101 0.3162 0.000"},
    {"xyY 0.9 0.05 0", "N 0.00/\tN 2/\tblack\t", "\t0.000 0.000 0.000\t0.9000 0.0500 0.000"},
    {"lab 0 0 0", "N 0.00/\tN 2/\tblack\t", "\t0.000 0.000 0.000\t0.3101 0.3162 0.000"},
    {"srgb #777777", "N 4.9", "\t0.3101 0.3162 18.447"}, /* linear 0.18447 by IEC 61966-2-1 */
    {"srgb #7A5C43", "8.23YR 4.07/3.19\t7.5YR 4/3\tbrown\t", ""},
};

START_TEST(converts)
{
  char text[CONVERT_TEXT_SIZE];
  const char *begin = CONVERTED[_i].begin, *end = CONVERTED[_i].end;

  ck_assert_msg(convert(CONVERTED[_i].line, false, text), "'%s': %s", CONVERTED[_i].line, text);
  size_t length = strlen(text), tail = strlen(end);
  ck_assert_msg(strncmp(text, begin, strlen(begin)) == 0, "'%s': %s", CONVERTED[_i].line, text);
  ck_assert_msg(length > tail && strcmp(text + length - tail, end) == 0, "'%s': %s", CONVERTED[_i].line,
                text);
}
END_TEST

/* What can't be converted, and what the reason must say. */
static const struct {
  const char *line, *said;
} REFUSED[] = {
    {"", "the line is empty"},
    {" \t ", "the line is empty"},
    {"xyY 0.4 0.4", "write xyY x y Y"},
    {"xyY 0.4 0.4 10 10", "write xyY x y Y"},
    {"xyY", "write xyY x y Y"},
    {"xyY a 0.4 10", "number 1 is no plain decimal number"},
    {"xyY 0.4 nan 10", "number 2 is no plain decimal number"},
    {"xyY 0.4 0.4 inf", "number 3 is no plain decimal number"},
    {"xyY 0.4 0.4 0x10", "number 3 is no plain decimal number"},
    {"xyY 0.4 0.4 1e999", "number 3 is no plain decimal number"},
    {"xyY 0,4 0,4 10", "number 1 is no plain decimal number"},
    {"xyY 0.4 0 10", "no surface has this colour"},
    {"xyY 0.4 -0.2 10", "no surface has this colour"},
    {"xyY 0.4 0.4 100.1", "no surface has this colour"},
    {"xyY 0.4 0.4 -0.1", "no surface has this colour"},
    {"xyY 1e308 1e-308 50", "no surface has this colour"},
    {"xyY 1e308 1e-308 0", "no surface has this colour"},
    {"xyY 1e308 0.3 50", "no surface has this colour"},
    {"xyY 1e5 0.3 50", "is beyond the Munsell renotation"},
    {"xyY 0.9 0.9 20", "is beyond the Munsell renotation"},
    {"lab 50 1", "write lab L a b"},
    {"lab 101 0 0", "L must be from 0 to 100"},
    {"lab -1 0 0", "L must be from 0 to 100"},
    {"lab 100 -50 0", "no surface has this colour"},
    {"lab 50 200 0", "is beyond the Munsell renotation"},
    {"lab 50 1e308 1e308", "no surface has this colour"},
    {"srgb", "write srgb #rrggbb"},
    {"srgb 7a5c43", "write srgb #rrggbb"},
    {"srgb #7a5c4", "write srgb #rrggbb"},
    {"srgb #7a5c43 x", "write srgb #rrggbb"},
    {"srgb #7a5c4g", "the six digits behind # must be"},
    {"srgb #+a5c43", "the six digits behind # must be"},
    {"10YR 4/30", "chroma 30.0 at value 4.00 is beyond the Munsell renotation"},
    {"brown", "is no Munsell notation"},
    {"10YR 4/3 moist", "nothing may follow the chroma"},
    {"Lab 50 1 1", "is no Munsell notation"},
};

START_TEST(refuses)
{
  char text[CONVERT_TEXT_SIZE];

  ck_assert_msg(!convert(REFUSED[_i].line, false, text), "'%s': %s", REFUSED[_i].line, text);
  ck_assert_msg(strncmp(text, "?\t", 2) == 0 && strstr(text, REFUSED[_i].said), "'%s': %s", REFUSED[_i].line,
                text);
  ck_assert_msg(!strpbrk(text + 2, "\t\n"), "'%s': %s", REFUSED[_i].line, text);
}
END_TEST

START_TEST(refuses_odd_bytes)
{
  char text[CONVERT_TEXT_SIZE];
  static char longest[CONVERT_LINE_MOST + 1];

  ck_assert(!convert_line("10YR 4/3\0 moist", 15, false, text));
  ck_assert_str_eq(text, "?\tthe line holds a NUL byte; give plain text");
  ck_assert(!convert_line("xyY 0.4 0.4\0 10", 15, false, text));
  ck_assert(!convert_line("\0", 1, false, text));
  snprintf(longest, sizeof longest, "10YR 4/4%*c", CONVERT_LINE_MOST - 8, ' ');
  ck_assert(convert_line(longest, CONVERT_LINE_MOST, false, text));
  ck_assert(!convert_line(longest, CONVERT_LINE_MOST + 1, false, text));
  ck_assert_str_eq(text, "?\tthe line is longer than 4096 bytes; give one colour a line");
}
END_TEST

/* The last two fields of a converted line, as lines to convert. */
static void as_input(char *text, char lab[CONVERT_TEXT_SIZE], char xyY[CONVERT_TEXT_SIZE])
{
  char *last = strrchr(text, '\t');

  snprintf(xyY, CONVERT_TEXT_SIZE, "xyY %s", last + 1);
  *last = '\0';
  snprintf(lab, CONVERT_TEXT_SIZE, "lab %s", strrchr(text, '\t') + 1);
}

static void check_same(struct munsell m, const char *line)
{
  char text[CONVERT_TEXT_SIZE];
  struct munsell back;
  struct error error;

  ck_assert_msg(convert(line, true, text), "'%s': %s", line, text);
  text[strcspn(text, "\t")] = '\0';
  ck_assert_msg(munsell_parse(text, &back, &error), "%s", error.text);
  ck_assert_msg(fabs(remainder(back.hue - m.hue, 100)) <= PRECISE && fabs(back.value - m.value) <= PRECISE &&
                    fabs(back.chroma - m.chroma) <= PRECISE,
                "%.8f %.8f %.8f comes back from '%s' as %s", m.hue, m.value, m.chroma, line, text);
}

/* With --precise, what is printed converts to the notation again. */
START_TEST(precise_comes_back)
{
  struct random random = random_start(SEED);

  for (int i = 0; i < RUNS; i++) {
    double hue = random_between(&random, 0.01, 100), value = random_between(&random, 1, 9);
    struct munsell m = {hue, value, random_between(&random, 0.5, 6)};
    char notation[MUNSELL_NOTATION_SIZE], text[CONVERT_TEXT_SIZE], lab[CONVERT_TEXT_SIZE],
        xyY[CONVERT_TEXT_SIZE];
    munsell_format(m, 8, notation);
    if (munsell_place_in_rows(m) != MUNSELL_OUTSIDE) {
      ck_assert_msg(convert(notation, true, text), "%s: %s", notation, text);
      ck_assert(strncmp(text, notation, strlen(notation)) == 0);
      as_input(text, lab, xyY);
      check_same(m, lab);
      check_same(m, xyY);
    }
  }
}
END_TEST

static const char *program(void)
{
  const char *path = getenv("TAWNY_PROGRAM");

  ck_assert_msg(path != NULL, "the environment variable TAWNY_PROGRAM must name the program");
  return path;
}

/* Runs the program in a shell with the words behind it; what it says, and its exit status. */
static int run(const char *words, struct text *said)
{
  char command[1024], piece[4096];
  size_t got;

  snprintf(command, sizeof command, "'%s' convert %s", program(), words);
  FILE *pipe = popen(command, "r");
  ck_assert_ptr_nonnull(pipe);
  while ((got = fread(piece, 1, sizeof piece, pipe)) > 0) {
    text_add_bytes(said, piece, got);
  }
  return WEXITSTATUS(pclose(pipe));
}

/* Runs the program on some bytes. */
static int run_on(const char *bytes, size_t length, struct text *said)
{
  char path[] = "/tmp/tawny-convert-XXXXXX", words[64];
  int file = mkstemp(path);

  ck_assert(file >= 0 && write(file, bytes, length) == (ssize_t)length);
  close(file);
  snprintf(words, sizeof words, "<%s", path);
  int status = run(words, said);
  unlink(path);
  return status;
}

static size_t count_lines(const char *text)
{
  size_t count = 0;

  for (; text && (text = strchr(text, '\n')); text++) {
    count++;
  }
  return count;
}

START_TEST(lines_stay_in_order)
{
  static const char INPUT[] = "10YR 4/4\r\nbrown\n\nN 5/\r\nxyY 0.4189 0.3948 11.7008";
  struct text said = {0};

  ck_assert_int_eq(run_on(INPUT, sizeof INPUT - 1, &said), 1);
  char *line = strtok(said.data, "\n");
  static const char *const BEGIN[] = {"10.00YR 4.00/4.00\t", "?\t'brown' is no", "?\tthe line is empty",
                                      "N 5.00/\tN 5/\t", "10.00YR 4.00/4.00\t"};
  for (size_t i = 0; i < 5; i++, line = strtok(NULL, "\n")) {
    ck_assert_msg(line && strncmp(line, BEGIN[i], strlen(BEGIN[i])) == 0, "line %zu: %s", i + 1, line);
  }
  ck_assert_ptr_null(line);
  text_clear(&said);
}
END_TEST

START_TEST(sound_input_ends_with_0)
{
  struct text said = {0};

  ck_assert_int_eq(run_on("10YR 4/4\n", 9, &said), 0);
  ck_assert_uint_eq(count_lines(said.data), 1);
  ck_assert_int_eq(run_on("", 0, &said), 0);
  ck_assert_uint_eq(count_lines(said.data), 1);
  text_clear(&said);
}
END_TEST

/* Long lines give one `?` each, wherever the pieces of input end, and do no harm to the lines about them. */
START_TEST(long_lines)
{
  static const size_t LENGTHS[] = {4096, 4097, 8192, 65535, 65536, 70000, 1000000};
  size_t length = LENGTHS[_i];
  struct text input = {0}, said = {0};

  text_add(&input, "N 5/\n10YR 4/4");
  while (input.length < length + 5) {
    text_add(&input, " ");
  }
  text_add(&input, "\r\nN 6/\n");
  ck_assert_int_eq(run_on(input.data, input.length, &said), length > CONVERT_LINE_MOST);
  ck_assert_uint_eq(count_lines(said.data), 3);
  ck_assert_ptr_nonnull(
      strstr(said.data, length > CONVERT_LINE_MOST ? "\n?\tthe line is longer" : "\n10.00YR 4.00/4.00"));
  ck_assert_ptr_nonnull(strstr(said.data, "\nN 6.00/"));
  text_clear(&input);
  text_clear(&said);
}
END_TEST

/* Many lines: the pieces that input comes in end anywhere. */
START_TEST(many_lines)
{
  struct random random = random_start(SEED);
  struct text input = {0}, said = {0};
  enum { LINES = 20000 };

  for (int i = 0; i < LINES; i++) {
    text_format(&input, "N %d.%0*d/\n", random_below(&random, 10), 1 + random_below(&random, 9), 5);
  }
  ck_assert_int_eq(run_on(input.data, input.length, &said), 0);
  ck_assert_uint_eq(count_lines(said.data), LINES);
  const char *from = input.data, *to = said.data;
  for (int i = 0; i < LINES; i++) {
    ck_assert_msg(fabs(strtod(from + 2, NULL) - strtod(to + 2, NULL)) <= 0.00501,
                  "line %d: %.12s gives %.12s", i + 1, from, to);
    from = strchr(from, '\n') + 1, to = strchr(to, '\n') + 1;
  }
  text_clear(&input);
  text_clear(&said);
}
END_TEST

START_TEST(faults_of_the_call)
{
  struct text said = {0};

  ck_assert_int_eq(run("--exact </dev/null 2>&1", &said), 2);
  ck_assert_uint_eq(count_lines(said.data), 1);
  ck_assert_int_eq(run("--precise </dev/null 2>&1", &said), 0);
  ck_assert_uint_eq(count_lines(said.data), 1);
  ck_assert_int_eq(run("</ 2>&1", &said), 3);
  ck_assert_ptr_nonnull(strstr(said.data, "standard input can't be read"));
  ck_assert_int_eq(run("--precise 2>&1 >/dev/full <<.\n10YR 4/3\n.", &said), 3);
  ck_assert_ptr_nonnull(strstr(said.data, "standard output can't be written"));
  text_clear(&said);
}
END_TEST

/* An answer comes before the next question is asked. */
START_TEST(answers_at_once)
{
  int question[2], answer[2], status;
  char got[512];

  ck_assert(pipe(question) == 0 && pipe(answer) == 0);
  pid_t child = fork();
  if (child == 0) {
    dup2(question[0], 0), dup2(answer[1], 1);
    close(question[0]), close(question[1]), close(answer[0]), close(answer[1]);
    execl(program(), "tawny", "convert", NULL);
    _exit(127);
  }
  close(question[0]), close(answer[1]);
  for (int i = 0; i < 3; i++) {
    ck_assert_int_eq(write(question[1], "10YR 4/4\n", 9), 9);
    ssize_t length = read(answer[0], got, sizeof got - 1);
    ck_assert_int_gt(length, 0);
    got[length] = '\0';
    ck_assert_msg(strncmp(got, "10.00YR 4.00/4.00\t", 18) == 0 && got[length - 1] == '\n', "%s", got);
  }
  close(question[1]);
  ck_assert_int_eq(waitpid(child, &status, 0), child);
  ck_assert_int_eq(WEXITSTATUS(status), 0);
  close(answer[0]);
}
END_TEST

int main(void)
{
  Suite *suite = suite_create("cli convert");
  TCase *tcase = tcase_create("convert");

  tcase_set_timeout(tcase, 60);
  tcase_add_loop_test(tcase, converts, 0, sizeof CONVERTED / sizeof *CONVERTED);
  tcase_add_loop_test(tcase, refuses, 0, sizeof REFUSED / sizeof *REFUSED);
  tcase_add_test(tcase, refuses_odd_bytes);
  tcase_add_test(tcase, precise_comes_back);
  tcase_add_test(tcase, lines_stay_in_order);
  tcase_add_test(tcase, sound_input_ends_with_0);
  tcase_add_loop_test(tcase, long_lines, 0, 7);
  tcase_add_test(tcase, many_lines);
  tcase_add_test(tcase, faults_of_the_call);
  tcase_add_test(tcase, answers_at_once);
  suite_add_tcase(suite, tcase);
  return run_suite(suite);
}
