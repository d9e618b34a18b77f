/* drivers/recording.c and drivers/replay.c: the format both ways, and a recording played with its own times. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "drivers/driver.h"
#include "drivers/recording.h"

static const struct profile profile = {.name = "test", .baud = 9600, .bits = 8, .stop = 1};
static char path[] = "/tmp/tareline-replay-XXXXXX", device[64], why[DRIVER_WHY];
static struct port port;
static uint8_t got[256];

static int set_up(void **state)
{
    (void)state;
    strcpy(path + sizeof path - 7, "XXXXXX");
    close(mkstemp(path));
    snprintf(device, sizeof device, "replay:%s", path);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    port_close(&port);
    unlink(path);
    return 0;
}

static enum driver_result play(const char *text)
{
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs(text, f);
    fclose(f);
    return port_open(&port, device, &profile, why);
}

static int feed(uint64_t now)
{
    return port.driver->feed(&port, got, sizeof got, now);
}

static void plays_with_its_own_times(void **state)
{
    (void)state;
    int fd;
    short events;
    assert_int_equal(play("# a steady stretch\n0 4142 ; AB\n\n1500 0d0A\r\n1500 FF\n9000 43\n"), DRIVER_OK);
    assert_string_equal(port.driver->name, "replay");
    port.driver->watch(&port, &fd, &events);
    assert_int_equal(fd, -1);
    assert_null(port.driver->send);
    assert_int_equal(port.driver->wake(&port), 1); /* at once: the first feed is its time 0 */
    assert_int_equal(feed(1000000), 2);
    assert_memory_equal(got, "AB", 2);
    assert_int_equal(port.driver->wake(&port), 1001500);
    assert_int_equal(feed(1001499), 0);
    assert_int_equal(feed(1001500), 3); /* what is due at one time comes in one read */
    assert_memory_equal(got, "\r\n\xff", 3);
    assert_int_equal(feed(1009000), 1);
    assert_int_equal(port.driver->wake(&port), 1009000);
    assert_int_equal(feed(1009000), DRIVER_GONE);
    assert_int_equal(feed(2000000), DRIVER_GONE);
}

static void late_reads_catch_up_in_order(void **state)
{
    (void)state;
    uint8_t two[2];
    assert_int_equal(play("0 4142\n10 43\n20 44\n"), DRIVER_OK);
    assert_int_equal(port.driver->feed(&port, two, 2, 500), 2);
    assert_memory_equal(two, "AB", 2);
    assert_int_equal(port.driver->feed(&port, two, 2, 900), 2);
    assert_memory_equal(two, "CD", 2);
    assert_int_equal(port.driver->feed(&port, two, 2, 900), DRIVER_GONE);
}

static void again_goes_round_and_end_lets_silence_last(void **state)
{
    (void)state;
    assert_int_equal(play("0 41\n10 42\n2000 again\n"), DRIVER_OK);
    for (uint64_t round = 0; round < 5; round++) {
        assert_int_equal(feed(7000 + round * 2000), 1);
        assert_int_equal(got[0], 'A');
        assert_int_equal(feed(7010 + round * 2000), 1);
        assert_int_equal(got[0], 'B');
        assert_int_equal(port.driver->wake(&port), 7000 + (round + 1) * 2000);
    }
    port_close(&port);
    assert_int_equal(play("0 41\n5000 end\n"), DRIVER_OK);
    assert_int_equal(feed(100), 1);
    assert_int_equal(feed(5099), 0);
    assert_int_equal(feed(5100), DRIVER_GONE);
}

static void faults_name_file_line_and_what_was_expected(void **state)
{
    (void)state;
    static const struct {
        const char *text, *says;
    } cases[] = {
        {"", ":1: expected bytes to play"},
        {"# only a head\n", ":2: expected bytes to play"},
        {"0 41\nhello\n", ":2: expected a time in microseconds"},
        {"0\n", ":1: expected a time"},
        {"0 4\n", ":1: expected an even number"},
        {"0 4G\n", ":1: expected hexadecimal digits"},
        {"-1 41\n", ":1: expected a time"},
        {"99999999999999999999 41\n", ":1: expected a time"},
        {"5 41\n4 41\n", ":2: expected a time not before"},
        {"0 41\n10 again\n", ":2: expected a time of 1000 or more"},
        {"0  41\n", ":1: expected an even number"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char expected[200];
        assert_int_equal(play(cases[i].text), DRIVER_WRONG);
        snprintf(expected, sizeof expected, "%s%s", path, cases[i].says);
        if (strncmp(why, expected, strlen(expected)) != 0)
            fail_msg("case %zu: %s", i, why);
    }
    char *longest = malloc(2000);
    memset(longest, '#', 1999);
    longest[1999] = '\0';
    assert_int_equal(play(longest), DRIVER_WRONG);
    assert_non_null(strstr(why, ":1: expected a line of at most 399 bytes"));
    free(longest);
}

static void what_is_no_file_is_refused(void **state)
{
    (void)state;
    assert_int_equal(port_open(&port, "replay:/nowhere/at-all", &profile, why), DRIVER_MISSING);
    assert_non_null(strstr(why, "/nowhere/at-all can't be opened"));
    assert_int_equal(port_open(&port, "replay:/tmp", &profile, why), DRIVER_WRONG);
    assert_int_equal(port_open(&port, "replay:", &profile, why), DRIVER_MISSING);
    unlink(path);
    assert_int_equal(mkfifo(path, 0600), 0);
    assert_int_equal(port_open(&port, device, &profile, why), DRIVER_WRONG);
}

static void a_file_spoilt_while_it_plays_is_an_end(void **state)
{
    (void)state;
    assert_int_equal(play("0 41\n1000 42\n2000 43\n"), DRIVER_OK);
    assert_int_equal(feed(10), 1);
    FILE *f = fopen(path, "w");
    fputs("garbage garbage garbage\ngarbage garbage\n", f);
    fclose(f);
    assert_int_equal(feed(1010), DRIVER_SYSTEM);
}

static void what_is_written_plays_back(void **state)
{
    (void)state;
    uint8_t bytes[200];
    size_t n = 0;
    for (size_t i = 0; i < sizeof bytes; i++)
        bytes[i] = (uint8_t)(i * 7);
    FILE *f = fopen(path, "w");
    fputs("# tareline recording 1\n", f);
    assert_true(recording_write(f, 0, bytes, 1));
    assert_true(recording_write(f, 70, bytes + 1, sizeof bytes - 1));
    fclose(f);
    assert_int_equal(port_open(&port, device, &profile, why), DRIVER_OK);
    for (uint64_t now = 50; n < sizeof bytes; now += 70) {
        int r = port.driver->feed(&port, got + n, sizeof got - n, now);
        assert_true(r > 0);
        n += (size_t)r;
    }
    assert_int_equal(n, sizeof bytes);
    assert_memory_equal(got, bytes, sizeof bytes);
}

static void a_full_disk_is_noticed(void **state)
{
    (void)state;
    FILE *f = fopen("/dev/full", "w");
    assert_non_null(f);
    setvbuf(f, NULL, _IONBF, 0);
    assert_false(recording_write(f, 0, (const uint8_t *)"A", 1));
    fclose(f);
}

static void hostile_bytes_are_shown_harmlessly(void **state)
{
    (void)state;
    uint8_t all[256];
    char shown[256 * 4 + 1];
    for (int i = 0; i < 256; i++)
        all[i] = (uint8_t)i;
    size_t n = recording_show(all, 256, shown);
    assert_int_equal(strlen(shown), n);
    for (size_t i = 0; i < n; i++)
        assert_in_range(shown[i], ' ', '~');
    recording_show((const uint8_t *)"a<\x1b[2J", 6, shown);
    assert_string_equal(shown, "a<3C><1B>[2J");
}

int main(void)
{
#define T(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        T(plays_with_its_own_times),
        T(late_reads_catch_up_in_order),
        T(again_goes_round_and_end_lets_silence_last),
        T(faults_name_file_line_and_what_was_expected),
        T(what_is_no_file_is_refused),
        T(a_file_spoilt_while_it_plays_is_an_end),
        T(what_is_written_plays_back),
        T(a_full_disk_is_noticed),
        T(hostile_bytes_are_shown_harmlessly),
    };
    return cmocka_run_group_tests_name("drivers_replay", tests, NULL, NULL);
}
