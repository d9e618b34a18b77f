/* Every broken file in tests/unit/files says exactly the faults that it lists at its end, each in its line. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <cmocka.h>

#include "files/files.h"

static struct file_text text;

/* The lines "# 12: ..." and "# file: ..." at a file's end, as faults of that file. */
static void expected_of(const struct file_text *t, char *out, size_t cap)
{
    const char *at = strstr(t->text, "\n# Expected:\n");
    size_t n = 0;
    out[0] = '\0';
    for (at = at ? at + 13 : ""; *at; at += strcspn(at, "\n") + 1) {
        int len = (int)strcspn(at, "\n");
        bool whole = !strncmp(at, "# file: ", 8);
        assert_true(at[0] == '#' && at[1] == ' ');
        n += (size_t)snprintf(out + n, cap - n, "%s:%.*s\n", t->path, len - (whole ? 7 : 2), at + (whole ? 7 : 2));
        assert_true(n < cap);
    }
}

static void each_broken_file_says_its_faults(void **state)
{
    (void)state;
    glob_t g;
    unsigned broken = 0;
    setenv("TARELINE_PROFILES", "profiles", 1);
    assert_int_equal(glob("tests/unit/files/*.ini", 0, NULL, &g), 0);
    for (size_t i = 0; i < g.gl_pathc; i++) {
        struct faults f = {0};
        const char *kind;
        char expected[4096];
        assert_true(file_read(g.gl_pathv[i], &text, &f));
        expected_of(&text, expected, sizeof expected);
        assert_int_equal(file_check(&text, &kind, &f), !*expected);
        assert_string_equal(f.text, expected);
        broken += *expected != '\0';
        assert_int_equal(strstr(g.gl_pathv[i], "/good-") == NULL, *expected != '\0');
    }
    globfree(&g);
    assert_true(broken >= 110);
}

/* A file of these bytes, read and checked. */
static const struct faults *check_bytes(const void *bytes, size_t n)
{
    static struct faults f;
    char path[] = "/tmp/tareline-test-XXXXXX";
    const char *kind;
    int fd = mkstemp(path);
    memset(&f, 0, sizeof f);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, bytes, n), (ssize_t)n);
    close(fd);
    if (file_read(path, &text, &f))
        file_check(&text, &kind, &f);
    unlink(path);
    return &f;
}

static void assert_says(const struct faults *f, const char *what)
{
    if (!strstr(f->text, what))
        print_error("%s\n", f->text);
    assert_non_null(strstr(f->text, what));
}

static void bytes_that_are_not_text_are_named(void **state)
{
    (void)state;
    assert_says(check_bytes("[formula]\nid = a\0b\n", 19), ":2: byte 0x00 is not text");
    assert_says(check_bytes("[formula]\n\nname = S\xe4lt\n", 23), ":3: byte 0xe4 is not text");
    assert_says(check_bytes("name = \xc0\xaf\n", 10), ":1: byte 0xc0 is not text");         /* overlong */
    assert_says(check_bytes("name = \xed\xa0\x80\n", 11), ":1: byte 0xed is not text");     /* surrogate */
    assert_says(check_bytes("name = \xf4\x90\x80\x80\n", 12), ":1: byte 0xf4 is not text"); /* beyond U+10FFFF */
    assert_says(check_bytes("name = \xe2\x82", 9), ":1: byte 0xe2 is not text");            /* cut off */
    assert_says(check_bytes("name = a\x1b[31m\n", 14), ":1: byte 0x1b is not text");
    assert_null(strstr(check_bytes("name = K\xc3\xa4se \xe2\x82\xac \xf0\x9f\xa7\x80\n", 22)->text, "byte"));
}

static void files_that_cannot_be_read_are_named(void **state)
{
    (void)state;
    struct faults f = {0};
    static char big[FILE_TEXT_MAX + 10];
    memset(big, '\n', sizeof big);
    assert_false(file_read("tests/unit/files/no-such-file.ini", &text, &f));
    assert_false(file_read("tests/unit/files", &text, &f));
    assert_string_equal(f.text,
                        "tests/unit/files/no-such-file.ini: can't be read: No such file or directory; expected a file\n"
                        "tests/unit/files: can't be read: not a regular file; expected a file\n");
    assert_says(check_bytes(big, sizeof big), "longer than 65536 bytes");
    assert_null(strstr(check_bytes(big, FILE_TEXT_MAX)->text, "longer"));
}

/* Appends n sections of a form with a running number. */
static size_t many(char *to, size_t cap, unsigned n, const char *form)
{
    size_t len = strlen(to);
    for (unsigned i = 0; i < n; i++)
        len += (size_t)snprintf(to + len, cap - len, form, i, i, i);
    assert_true(len < cap);
    return len;
}

#define HEAD "[formula]\nid = t\nname = T\nband = 2 %%\n[meat pork]\nname = P\nshare = 100 %%\n"

static void full_arrays_are_refused(void **state)
{
    (void)state;
    static char file[40000];
    snprintf(file, sizeof file, HEAD);
    size_t n = many(file, sizeof file, CAP_INGREDIENTS, "[ingredient i%u]\nname = I%u\namount = 1.%u %% of meat\n");
    assert_says(check_bytes(file, n), ":101: too many meats and ingredients; expected at most 32");

    snprintf(file, sizeof file, HEAD);
    n = many(file, sizeof file, CAP_STEPS, "[instruction i%u]\ntext = I%u\n");
    assert_says(check_bytes(file, n), "too many steps; expected at most 32 with the meat's own addition");

    snprintf(file, sizeof file, HEAD);
    n = many(file, sizeof file, 170, "[instruction i%u]\ntext = I%u\n");
    assert_says(check_bytes(file, n), "too many sections; expected at most 160");

    snprintf(file, sizeof file, "[station]\nname = S\n");
    n = many(file, sizeof file, CAP_SCALES + 1,
             "[scale s%u]\nprofile = bare-kg\ndevice = d%u\ncapacity = 1 kg\ndivision = 1 g\n");
    assert_says(check_bytes(file, n), ":23: too many scales; expected at most 4");

    file[0] = '\0';
    n = many(file, sizeof file, STATION_PEOPLE + 1, "[person p%u]\nname = P\ninitials = P%u\n");
    assert_says(check_bytes(file, n), ":193: too many people; expected at most 64");

    snprintf(file, sizeof file, "[station]\n");
    n = many(file, sizeof file, 1300, "unknown = %u\n");
    assert_says(check_bytes(file, n), "too many keys; expected at most 1200");
}

static void faults_stand_in_order_and_say_how_many_more(void **state)
{
    (void)state;
    struct faults f = {0};
    faults_add(&f, "a.ini", 9, "nine");
    faults_add(&f, "b.ini", 1, "other");
    faults_add(&f, "a.ini", 0, "whole");
    faults_add(&f, "a.ini", 10, "ten");
    faults_add(&f, "a.ini", 2, "two\nwith an \x1b escape\xc2\x9bof\x9b it\xc3\xa9\x7f\xe2\x80\xae");
    assert_string_equal(f.text, "a.ini:2: two?with an ? escape??of? it\xc3\xa9?"
                                "???\na.ini:9: nine\nb.ini:1: other\n"
                                "a.ini:10: ten\na.ini: whole\n");
    assert_int_equal(f.count, 5);
    for (unsigned i = 0; i < 2000; i++)
        faults_add(&f, "a.ini", i, "a fault of some length, the %uth", i);
    assert_int_equal(f.count, 2005);
    assert_true(f.len < FAULTS_TEXT);
    unsigned lines = 0;
    for (const char *at = f.text; *at; at++)
        lines += *at == '\n';
    char tail[64];
    snprintf(tail, sizeof tail, "... and %u more\n", 2005 - (lines - 1));
    assert_string_equal(f.text + strlen(f.text) - strlen(tail), tail);
}

static void a_very_long_fault_is_cut(void **state)
{
    (void)state;
    struct faults f = {0};
    char long_text[3000];
    memset(long_text, 'x', sizeof long_text);
    long_text[sizeof long_text - 1] = '\0';
    faults_add(&f, "a.ini", 1, "%s", long_text);
    assert_true(strlen(f.text) <= 1201 && f.text[strlen(f.text) - 1] == '\n');
    faults_add(&f, long_text, 1, "%s", "short");
    assert_int_equal(f.count, 2);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_broken_file_says_its_faults),
        cmocka_unit_test(bytes_that_are_not_text_are_named),
        cmocka_unit_test(files_that_cannot_be_read_are_named),
        cmocka_unit_test(full_arrays_are_refused),
        cmocka_unit_test(faults_stand_in_order_and_say_how_many_more),
        cmocka_unit_test(a_very_long_fault_is_cut),
    };
    return cmocka_run_group_tests_name("files_faults", tests, NULL, NULL);
}
