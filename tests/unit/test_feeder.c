/* station/feeder.c on pseudo-terminals. The feeder reads no clock, so the tests give it moments of their own. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <sys/ioctl.h>

#include "line_fixture.h"
#include "pty.h"
#include "station/feeder.h"

static struct profile profile;
static char folder[] = "/tmp/tareline-feeder-XXXXXX", link_path[64];
static int master = -1;
static struct feeder f;
static struct feeder_bytes bytes;
static struct reading reading;

static void plug(void)
{
    char path[PTY_PATH];
    master = pty_make(path);
    assert_true(master >= 0);
    unlink(link_path);
    assert_int_equal(symlink(path, link_path), 0);
}

static void unplug(void)
{
    close(master);
    master = -1;
}

static int set_up(void **state)
{
    (void)state;
    strcpy(folder + sizeof folder - 7, "XXXXXX");
    if (!mkdtemp(folder))
        return -1;
    snprintf(link_path, sizeof link_path, "%s/scale", folder);
    profile = line_shape;
    plug();
    assert_true(feeder_init(&f, &profile, link_path));
    assert_int_equal(feeder_open(&f, 1000000), DRIVER_OK);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    feeder_close(&f);
    if (master >= 0)
        unplug();
    unlink(link_path);
    rmdir(folder);
    return 0;
}

static int waiting(void)
{
    int n = 0;
    assert_int_equal(ioctl(f.port.fd, FIONREAD, &n), 0);
    return n;
}

/* The scale sends it, and all of it has reached the port: the kernel hands it over in its own time. */
static void say(const char *text, size_t n)
{
    int before = waiting();
    assert_true(pty_say(master, text, n));
    for (int ms = 0; waiting() < before + (int)n && ms < 1000; ms++)
        usleep(1000);
    assert_int_equal(waiting(), before + (int)n);
}

static short watched(void)
{
    int fd;
    short events;
    feeder_watch(&f, &fd, &events);
    assert_int_equal(fd, f.port.fd);
    return events;
}

static enum feeder_event ready(uint64_t now)
{
    return feeder_read(&f, POLLIN, now, &bytes);
}

static enum feeder_event timer(uint64_t now)
{
    return feeder_read(&f, 0, now, &bytes);
}

static enum decode_result take(void)
{
    return feeder_take(&f.line, &bytes, &reading);
}

/* One whole line, so that its usual length is known. */
static void good_line(uint64_t now)
{
    say(LINE, LINE_LEN);
    assert_int_equal(ready(now), FEEDER_BYTES);
    assert_int_equal(take(), DECODE_READING);
    assert_int_equal(take(), DECODE_MORE);
}

static void a_whole_line_is_a_reading_at_once(void **state)
{
    (void)state;
    assert_int_equal(watched(), POLLIN);
    assert_int_equal(feeder_wake(&f), 0);
    assert_int_equal(timer(1050000), FEEDER_NOTHING);
    say(LINE, LINE_LEN);
    assert_int_equal(ready(1100000), FEEDER_BYTES);
    assert_int_equal(take(), DECODE_READING);
    assert_true(reading.mass == 250 * PG_PER_G);
    assert_int_equal(reading.state, READING_STABLE);
    assert_int_equal(reading.at, 1100000);
    assert_int_equal(reading.since, 1000000); /* the opening, which flushed */
    assert_int_equal(take(), DECODE_MORE);
    assert_int_equal(watched(), POLLIN);
    good_line(1200000);
    assert_int_equal(reading.since, 1100000);
}

static void the_rest_of_a_line_is_slept_for(void **state)
{
    (void)state;
    uint64_t rest = 2000000 + (LINE_LEN - 1) * BYTE_US + FEEDER_MARGIN_US;
    good_line(1100000);
    say(LINE, 1);
    assert_int_equal(ready(2000000), FEEDER_BYTES);
    assert_int_equal(take(), DECODE_MORE);
    assert_int_equal(watched(), 0);
    assert_int_equal(feeder_wake(&f), rest);
    say(LINE + 1, LINE_LEN - 1);
    assert_int_equal(timer(rest - 1), FEEDER_NOTHING);
    assert_int_equal(timer(rest), FEEDER_BYTES);
    assert_int_equal(take(), DECODE_READING);
    assert_int_equal(reading.at, rest);
    assert_int_equal(reading.since, 1100000);
    assert_int_equal(take(), DECODE_MORE);
    assert_int_equal(watched(), POLLIN);
    assert_int_equal(feeder_wake(&f), 0);
}

static void a_line_that_stops_short_is_polled_for(void **state)
{
    (void)state;
    good_line(1100000);
    say(LINE, 4);
    assert_int_equal(ready(2000000), FEEDER_BYTES);
    assert_int_equal(take(), DECODE_MORE);
    assert_int_equal(timer(feeder_wake(&f)), FEEDER_BYTES);
    assert_int_equal(bytes.len, 0);
    assert_int_equal(take(), DECODE_MORE);
    assert_int_equal(watched(), POLLIN);
    assert_int_equal(feeder_wake(&f), 0); /* no spinning on a dead line */
    say(LINE + 4, LINE_LEN - 4);
    assert_int_equal(ready(9000000), FEEDER_BYTES);
    assert_int_equal(take(), DECODE_READING);
    assert_int_equal(reading.since, 1100000); /* its front is old: the reading owns up to it */
    assert_int_equal(reading.at, 9000000);
}

/* What queued while nobody read is never taken for new: since stays behind until a read has left the port empty. */
static void a_backlog_keeps_its_age(void **state)
{
    (void)state;
    unsigned lines = 0, old = 0;
    for (int i = 0; i < 60; i++)
        say(LINE, LINE_LEN);
    for (uint64_t now = 9000000; lines < 60 && now < 9100000; now += 1000) {
        assert_int_equal(ready(now), FEEDER_BYTES);
        while (take() == DECODE_READING) {
            lines++;
            old += reading.since == 1000000;
        }
    }
    assert_int_equal(lines, 60);
    assert_int_equal(old, 60);
    good_line(9200000);
    assert_true(reading.since > 9000000);
}

static void played_back_it_says_the_same(void **state)
{
    (void)state;
    struct feeder_bytes kept[64];
    struct reading live[32], again[32];
    static const char stream[] = LINE "M -1.204 kg\r\nS +0.2\r\n???\r\n\r\nS +0.251 kg\r\nM +0.251 lb\r\n" LINE;
    size_t n = 0, live_count = 0, again_count = 0, sent = 0;
    uint64_t now = 2000000;
    memset(live, 0, sizeof live);
    memset(again, 0, sizeof again);
    for (size_t part = 1; sent < sizeof stream - 1; part = part % 7 + 1) {
        size_t len = sizeof stream - 1 - sent < part ? sizeof stream - 1 - sent : part;
        say(stream + sent, len);
        sent += len;
        assert_int_equal(ready(now), FEEDER_BYTES);
        kept[n++] = bytes;
        for (enum decode_result r; (r = take()) != DECODE_MORE;)
            if (r == DECODE_READING)
                live[live_count++] = reading;
        now += 7013;
    }
    struct feeder_line line;
    feeder_line_reset(&line, &profile, 1000000);
    for (size_t i = 0; i < n; i++)
        for (enum decode_result r; (r = feeder_take(&line, &kept[i], &reading)) != DECODE_MORE;)
            if (r == DECODE_READING)
                again[again_count++] = reading;
    assert_int_equal(live_count, 5); /* the cut-off ones are refused; "lb" is no word of this profile */
    assert_int_equal(again_count, live_count);
    for (size_t i = 0; i < live_count; i++) {
        assert_true(again[i].mass == live[i].mass && again[i].state == live[i].state);
        assert_true(again[i].at == live[i].at && again[i].since == live[i].since);
    }
    assert_int_equal(line.decoder.bad, f.line.decoder.bad);
}

static void a_polled_scale_is_asked_at_its_period(void **state)
{
    (void)state;
    char got[16];
    profile.sends = SENDS_POLLED;
    assert_int_equal(feeder_wake(&f), 1); /* at once */
    assert_int_equal(timer(2000000), FEEDER_BYTES);
    assert_int_equal(take(), DECODE_MORE);
    assert_true(pty_wait(master, POLLIN, 1000));
    assert_int_equal(read(master, got, sizeof got), 2);
    assert_memory_equal(got, "R\r", 2);
    assert_int_equal(feeder_wake(&f), 2250000); /* not answered: again after its time-out */
    good_line(2030000);
    assert_int_equal(feeder_wake(&f), 2100000); /* answered: after its period */
    assert_int_equal(timer(2099999), FEEDER_NOTHING);
    assert_false(pty_wait(master, POLLIN, 0));
    assert_int_equal(timer(2100000), FEEDER_BYTES);
    assert_true(pty_wait(master, POLLIN, 1000));
    assert_int_equal(take(), DECODE_MORE);
    assert_int_equal(read(master, got, sizeof got), 2);
    assert_int_equal(timer(2349999), FEEDER_NOTHING);
    assert_int_equal(timer(2350000), FEEDER_BYTES);
    assert_true(pty_wait(master, POLLIN, 1000));
}

static void a_profile_without_times_never_spins(void **state)
{
    (void)state;
    profile.sends = SENDS_POLLED;
    profile.period_ms = profile.timeout_ms = 0;
    assert_int_equal(timer(2000000), FEEDER_BYTES);
    assert_true(feeder_wake(&f) >= 2010000);
}

static void commands_are_sent_if_the_scale_has_them(void **state)
{
    (void)state;
    char got[16];
    assert_int_equal(feeder_send(&f, FEEDER_ZERO), DRIVER_WRONG); /* the profile has no zero command */
    assert_int_equal(feeder_send(&f, FEEDER_TARE), DRIVER_OK);
    assert_true(pty_wait(master, POLLIN, 1000));
    assert_int_equal(read(master, got, sizeof got), 2);
    assert_memory_equal(got, "T\r", 2);
    unplug();
    assert_int_equal(feeder_send(&f, FEEDER_TARE), DRIVER_GONE);
    assert_int_equal(feeder_read(&f, POLLHUP, 2000000, &bytes), FEEDER_DOWN);
    assert_int_equal(feeder_send(&f, FEEDER_TARE), DRIVER_MISSING);
}

static void after_an_unplug_the_link_is_followed_anew(void **state)
{
    (void)state;
    int fd;
    short events;
    good_line(1100000);
    say("S +9.9", 6); /* the front of a line that never ends */
    assert_int_equal(ready(2000000), FEEDER_BYTES);
    assert_int_equal(take(), DECODE_MORE);
    unplug();
    assert_int_equal(feeder_read(&f, POLLHUP, 2001000, &bytes), FEEDER_DOWN);
    assert_non_null(strstr(f.why, "is gone"));
    feeder_watch(&f, &fd, &events);
    assert_int_equal(fd, -1);
    for (uint64_t now = 2001000, next; now < 9000000; now = next) { /* at least once a second */
        next = feeder_wake(&f);
        assert_in_range(next, now + 1, now + 1000000);
        assert_int_equal(timer(next), FEEDER_NOTHING);
    }
    plug();
    uint64_t now = feeder_wake(&f);
    assert_int_equal(timer(now), FEEDER_UP);
    good_line(now + 50000);
    assert_int_equal(reading.since, now); /* and nothing of the old line */
    assert_true(reading.mass == 250 * PG_PER_G);
}

static void a_device_held_by_another_is_waited_for(void **state)
{
    (void)state;
    struct feeder second;
    assert_true(feeder_init(&second, &profile, link_path));
    assert_int_equal(feeder_open(&second, 1000000), DRIVER_BUSY);
    assert_non_null(strstr(second.why, "in use"));
    assert_int_equal(feeder_read(&second, 0, feeder_wake(&second), &bytes), FEEDER_TAKEN); /* said once */
    assert_int_equal(feeder_read(&second, 0, feeder_wake(&second), &bytes), FEEDER_NOTHING);
    feeder_close(&f);
    assert_int_equal(feeder_read(&second, 0, feeder_wake(&second), &bytes), FEEDER_UP);
    feeder_close(&second);
}

/* A fixed sequence, so that a failure can be repeated. */
static void hostile_bytes_are_only_counted(void **state)
{
    (void)state;
    uint32_t x = 2463534242u;
    char noise[200];
    unsigned readings = 0;
    for (int round = 0; round < 400; round++) {
        for (size_t i = 0; i < sizeof noise; i++) {
            x ^= x << 13, x ^= x >> 17, x ^= x << 5; /* xorshift: Marsaglia, 2003 */
            noise[i] = (char)x;
            if (x >> 28 == 0 && i > 0)
                noise[i - 1] = '\r', noise[i] = '\n';
        }
        say(noise, sizeof noise);
        assert_int_equal(ready(2000000 + (uint64_t)round), FEEDER_BYTES);
        for (enum decode_result r; (r = take()) != DECODE_MORE;)
            readings += r == DECODE_READING;
    }
    assert_int_equal(readings, 0);
    assert_true(f.line.decoder.bad > 100);
    say("\r\n", 2);
    assert_int_equal(ready(3000000), FEEDER_BYTES);
    while (take() != DECODE_MORE)
        ;
    good_line(3100000);
}

static void a_device_text_too_long_is_refused(void **state)
{
    (void)state;
    struct feeder long_one;
    char text[FEEDER_DEVICE + 1];
    memset(text, '/', sizeof text);
    text[FEEDER_DEVICE] = '\0';
    assert_false(feeder_init(&long_one, &profile, text));
    assert_non_null(strstr(long_one.why, "longer than 255 bytes"));
    text[FEEDER_DEVICE - 1] = '\0';
    assert_true(feeder_init(&long_one, &profile, text));
}

int main(void)
{
#define T(name) cmocka_unit_test_setup_teardown(name, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        T(a_whole_line_is_a_reading_at_once),
        T(the_rest_of_a_line_is_slept_for),
        T(a_line_that_stops_short_is_polled_for),
        T(a_backlog_keeps_its_age),
        T(played_back_it_says_the_same),
        T(a_polled_scale_is_asked_at_its_period),
        T(a_profile_without_times_never_spins),
        T(commands_are_sent_if_the_scale_has_them),
        T(after_an_unplug_the_link_is_followed_anew),
        T(a_device_held_by_another_is_waited_for),
        T(hostile_bytes_are_only_counted),
        T(a_device_text_too_long_is_refused),
    };
    return cmocka_run_group_tests_name("feeder", tests, NULL, NULL);
}
