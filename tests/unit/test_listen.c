/* station/listen.c: what is counted, said and recorded, from recordings and a pseudo-terminal. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <sys/wait.h>

#include "drivers/recording.h"
#include "line_fixture.h"
#include "pty.h"
#include "station/listen.h"

static char path[] = "/tmp/tareline-listen-XXXXXX", device[64];
static struct listen l;
static struct listen_options options;
static char *said;
static size_t said_len;
static volatile sig_atomic_t stop;

static int set_up(void **state)
{
    (void)state;
    strcpy(path + sizeof path - 7, "XXXXXX");
    close(mkstemp(path));
    snprintf(device, sizeof device, "replay:%s", path);
    options = (struct listen_options){.out = open_memstream(&said, &said_len)};
    stop = 0;
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    fclose(options.out);
    free(said);
    unlink(path);
    return 0;
}

/* One piece of what the scale sends. */
struct piece {
    uint64_t at;
    const char *text;
};

static enum listen_end play(const struct piece *pieces, size_t n)
{
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    for (size_t i = 0; i < n; i++)
        recording_write(f, pieces[i].at, (const uint8_t *)pieces[i].text, strlen(pieces[i].text));
    fclose(f);
    return listen_run(&l, &options, &line_shape, device, &stop);
}
#define PLAY(pieces) play(pieces, sizeof(pieces) / sizeof *(pieces))

static void assert_said(const char *text)
{
    if (!strstr(said, text))
        fail_msg("\"%s\" is not in:\n%s", text, said);
}

static const struct piece mixed[] = {
    {0, "250 kg\r\n"},          {10000, LINE},
    {20000, "M -1.204 kg\r\n"}, {30000, "S +0.2\r\n"},
    {40000, "S +0.250 xx\r\n"}, {50000, "0123456789012345678901234567890123456789012345678901234567890123456789"},
    {60000, "\r\n" LINE},
};

static void counts_errors_by_kind(void **state)
{
    (void)state;
    assert_int_equal(PLAY(mixed), LISTEN_PLAYED);
    const struct listen_counts *c = &l.counts;
    assert_int_equal(c->readings, 4);
    assert_int_equal(c->no_weight, 1); /* the unit that is not known */
    assert_int_equal(c->bad, 2);       /* the cut-off front, and the short line */
    assert_int_equal(c->too_long, 1);
    assert_int_equal(c->bytes, 8 + 13 + 13 + 8 + 13 + 70 + 15);
    assert_int_equal(c->gaps, 0);
    assert_in_range(c->longest_gap, 10000, 500000);
}

static void text_shows_bytes_and_meaning(void **state)
{
    (void)state;
    static const struct piece hostile[] = {{0, LINE}, {1000, "\x1b]0;owned\x07\xff\r\n"}, {2000, "M -1.204 kg\r\n"}};
    assert_int_equal(PLAY(hostile), LISTEN_PLAYED);
    assert_said("0.250 kg  stable");
    assert_said("-1.204 kg  moving");
    assert_said("text  S +0.250 kg<0D><0A>\n");
    assert_said("hex   53 20 2B 30 2E 32 35 30 20 6B 67 0D 0A\n");
    assert_said("text  <1B>]0;owned<07><FF><0D><0A>\n");
    assert_said("NOT A LINE");
    assert_said("2 readings");
    for (size_t i = 0; i < said_len; i++)
        assert_true(said[i] == '\n' || (said[i] >= ' ' && said[i] <= '~'));
}

static void counts_are_said_while_it_listens(void **state)
{
    (void)state;
    static const struct piece slow[] = {{0, LINE}, {4000000, "S +0.250 xx\r\n"}, {LISTEN_TELL_US + 50000, LINE}};
    assert_int_equal(PLAY(slow), LISTEN_PLAYED);
    assert_said("so far: 5.1 s, 39 bytes, 3 readings");
    assert_said("readings without a weight 1, unit-unknown 1; lines not of the shape 0");
}

static void json_lines_hold_the_same(void **state)
{
    (void)state;
    options.json = true;
    assert_int_equal(PLAY(mixed), LISTEN_PLAYED);
    assert_said("{\"v\":1,\"n\":1,\"event\":\"hello\"");
    assert_said("\"hex\":\"53202B302E323530206B670D0A\",\"text\":\"S +0.250 kg<0D><0A>\",\"lost\":0,\"state\":"
                "\"stable\",\"mass_g\":250,\"step_g\":1,\"unit\":\"kg\",\"basis\":\"unknown\"}");
    assert_said("\"mass_g\":-1204");
    assert_said("\"state\":\"unit-unknown\",\"mass_g\":null}");
    assert_said("\"event\":\"bad-line\"");
    assert_said("\"event\":\"too-long\"");
    assert_said("\"event\":\"end\"");
    assert_said("\"readings\":4,\"no_weight\":1,\"bad_lines\":2,\"too_long\":1");
    assert_said("\"over_capacity\":0,\"under_zero\":0,\"fault\":0,\"unit_unknown\":1,\"no_weight_yet\":0}");
}

static void ends_at_the_count(void **state)
{
    (void)state;
    options.count = 2;
    assert_int_equal(PLAY(mixed), LISTEN_COUNT);
    assert_int_equal(l.counts.readings, 2);
    options.count = 5; /* more than there are */
    assert_int_equal(PLAY(mixed), LISTEN_TROUBLE);
    assert_string_equal(l.feeder.why, "the recording ended after 4 of 5 readings; ask for fewer");
}

static void what_is_recorded_plays_the_same(void **state)
{
    (void)state;
    char second[80], again[100];
    snprintf(second, sizeof second, "%s.second", path);
    snprintf(again, sizeof again, "replay:%s", second);
    options.capture = fopen(second, "w");
    assert_int_equal(PLAY(mixed), LISTEN_PLAYED);
    fclose(options.capture);
    struct listen_counts first = l.counts;
    options.capture = NULL;
    assert_int_equal(listen_run(&l, &options, &line_shape, again, &stop), LISTEN_PLAYED);
    assert_int_equal(l.counts.readings, first.readings);
    assert_int_equal(l.counts.bad, first.bad);
    assert_int_equal(l.counts.too_long, first.too_long);
    assert_int_equal(l.counts.bytes, first.bytes);
    unlink(second);
}

static void a_recording_that_can_not_be_written_ends_it(void **state)
{
    (void)state;
    options.capture = fopen("/dev/full", "w");
    setvbuf(options.capture, NULL, _IOLBF, 0);
    assert_int_equal(PLAY(mixed), LISTEN_CAPTURE);
    fclose(options.capture);
}

static void trouble_at_opening_has_its_sentence(void **state)
{
    (void)state;
    assert_int_equal(listen_run(&l, &options, &line_shape, "/dev/ttyUSB97", &stop), LISTEN_TROUBLE);
    assert_non_null(strstr(l.feeder.why, "there is no device /dev/ttyUSB97"));
    assert_int_equal(listen_run(&l, &options, &line_shape, "pigeon:host:1", &stop), LISTEN_TROUBLE);
    assert_non_null(strstr(l.feeder.why, "no driver for \"pigeon:host:1\""));
    fflush(options.out);
    assert_int_equal(said_len, 0);
}

/* A line that goes away while it is listened to; silence before it is said. */
static void an_unplug_is_trouble(void **state)
{
    (void)state;
    struct profile impatient = line_shape;
    char tty[PTY_PATH];
    int status, master = pty_make(tty);
    impatient.silent_ms = 100;
    pid_t scale = fork();
    if (scale == 0) {
        usleep(200000);
        bool ok = pty_say(master, LINE, LINE_LEN);
        usleep(300000);
        _exit(ok ? 0 : 1);
    }
    close(master);
    assert_int_equal(listen_run(&l, &options, &impatient, tty, &stop), LISTEN_TROUBLE);
    assert_int_equal(l.counts.readings, 1);
    assert_said("SILENT: no reading for 0.1 s");
    assert_non_null(strstr(l.feeder.why, "is gone"));
    assert_int_equal(waitpid(scale, &status, 0), scale);
    assert_int_equal(status, 0);
}

static void a_polled_scale_is_asked(void **state)
{
    (void)state;
    struct profile polled = line_shape;
    char tty[PTY_PATH];
    int status, master = pty_make(tty);
    polled.sends = SENDS_POLLED;
    polled.period_ms = 20;
    pid_t scale = fork();
    if (scale == 0) {
        char request[4];
        for (int i = 0; i < 5; i++) {
            if (!pty_wait(master, POLLIN, 5000) || read(master, request, 4) != 2 || memcmp(request, "R\r", 2) != 0)
                _exit(1);
            pty_say(master, LINE, LINE_LEN);
        }
        usleep(100000);
        _exit(0);
    }
    options.count = 5;
    assert_int_equal(listen_run(&l, &options, &polled, tty, &stop), LISTEN_COUNT);
    assert_int_equal(l.counts.readings, 5);
    assert_in_range(l.counts.requests, 5, 6);
    close(master);
    assert_int_equal(waitpid(scale, &status, 0), scale);
    assert_int_equal(status, 0);
}

int main(void)
{
#define T(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        T(counts_errors_by_kind),
        T(text_shows_bytes_and_meaning),
        T(counts_are_said_while_it_listens),
        T(json_lines_hold_the_same),
        T(ends_at_the_count),
        T(what_is_recorded_plays_the_same),
        T(a_recording_that_can_not_be_written_ends_it),
        T(trouble_at_opening_has_its_sentence),
        T(an_unplug_is_trouble),
        T(a_polled_scale_is_asked),
    };
    return cmocka_run_group_tests_name("listen", tests, NULL, NULL);
}
