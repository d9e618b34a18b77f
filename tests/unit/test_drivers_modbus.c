/* drivers/modbus.c against a slave that libmodbus plays, in a process of its own at the far end of a pseudo-terminal; and
 * against frames of the test's own, good and broken. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <errno.h>
#include <modbus.h>
#include <signal.h>
#include <stdio.h>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <time.h>

#include "pty.h"
#include "station/feeder.h"

/* Weight in 107 (0x6B) and 108, status in 109: with address 17 the request that the Modbus texts print. */
static const struct profile shape = {
    .name = "test",
    .form = FORM_REGISTERS,
    .baud = 19200,
    .bits = 8,
    .stop = 1,
    .parity = PARITY_EVEN,
    .sends = SENDS_POLLED,
    .request = {5, "\x03\x00\x6B\x00\x03"},
    .zero = {5, "\x06\x00\x10\x00\x01"},
    .period_ms = 100,
    .timeout_ms = 1000,
    .silent_ms = 3000,
    .unit = UNIT_G,
    .implied = 3,
    .block = {.function = 3, .count = 3, .words = 2, .is_signed = true, .has_status = true, .status = 2, .factor = 1},
    .bit_count = 1,
    .named = {{1, 0x40, 0x40, FIELD_STATUS, READING_STABLE}},
};
/* Far above what a look takes on a busy machine, and below the half second that libmodbus waits by itself. */
#define WORST_US 250000
#define REQUEST "\x11\x03\x00\x6B\x00\x03\x76\x87"
#define ANSWER "\x11\x03\x06\xAE\x41\x56\x52\x43\x40\x49\xAD"

struct bus {
    int master;
    char device[PTY_PATH + 20];
    struct feeder f;
    struct feeder_bytes bytes;
    pid_t slave;
    uint64_t worst; /* the longest that one look at the driver took, in microseconds */
};

static uint64_t now_us(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint64_t)t.tv_sec * 1000000 + (uint64_t)t.tv_nsec / 1000;
}

static int set_up(void **state)
{
    struct bus *b = calloc(1, sizeof *b);
    char path[PTY_PATH];
    b->master = pty_make(path);
    snprintf(b->device, sizeof b->device, "modbus:%s:17", path);
    *state = b;
    return b->master < 0 || !feeder_init(&b->f, &shape, b->device) ? -1 : 0;
}

static int tear_down(void **state)
{
    struct bus *b = *state;
    feeder_close(&b->f);
    if (b->slave > 0) {
        kill(b->slave, SIGKILL);
        waitpid(b->slave, NULL, 0);
    }
    if (b->master >= 0)
        close(b->master);
    free(b);
    return 0;
}

/* A real slave with registers from 100 on; it answers until it is killed. Register 16 takes the zero command. */
static void slave(struct bus *b, int address)
{
    uint8_t query[MODBUS_RTU_MAX_ADU_LENGTH];
    modbus_t *m = modbus_new_rtu("/dev/null", 19200, 'E', 8, 1);
    modbus_mapping_t *map = modbus_mapping_new_start_address(0, 0, 0, 0, 0, 110, 0, 0);
    b->slave = fork();
    if (b->slave) {
        modbus_mapping_free(map);
        modbus_free(m);
        return;
    }
    map->tab_registers[107] = 0;
    map->tab_registers[108] = 2350;
    map->tab_registers[109] = 0x0040;
    modbus_set_slave(m, address);
    modbus_set_socket(m, b->master);
    fcntl(b->master, F_SETFL, 0);
    for (;;) {
        int n = modbus_receive(m, query);
        if (map->tab_registers[16])
            map->tab_registers[108] = 0;
        if (n > 0)
            modbus_reply(m, query, n, map);
    }
}

/* Lets the station's loop run: what comes out of it within the time. */
static enum decode_result next(struct bus *b, struct reading *r, unsigned ms)
{
    uint64_t until = now_us() + ms * 1000u;
    while (now_us() < until) {
        struct pollfd p = {.fd = -1};
        enum decode_result got = DECODE_MORE;
        uint64_t wake = feeder_wake(&b->f), now = now_us();
        feeder_watch(&b->f, &p.fd, &p.events);
        uint64_t left = wake > now ? wake - now : 0;
        const struct timespec t = {.tv_nsec = (long)(left < 50000 ? left : 50000) * 1000};
        int n = ppoll(&p, 1, &t, NULL);
        now = now_us();
        enum feeder_event e = feeder_read(&b->f, n > 0 ? p.revents : 0, now, &b->bytes);
        b->worst = now_us() - now > b->worst ? now_us() - now : b->worst;
        if (e == FEEDER_BYTES)
            got = feeder_take(&b->f.line, &b->bytes, r);
        if (got != DECODE_MORE)
            return got;
    }
    return DECODE_MORE;
}

static void claims_its_texts_and_refuses_the_others(void **state)
{
    static const char *const wrong[] = {
        "modbus:",           "modbus:/dev/ttyUSB0", "modbus:/dev/ttyUSB0:", "modbus:/dev/x:0",
        "modbus:/dev/x:248", "modbus:ttyUSB0:1",    "modbus:/dev/x:1x",     "modbus:/dev/x:1000000000"};
    struct port p;
    char why[DRIVER_WHY];
    (void)state;
    assert_string_equal(driver_for("modbus:/dev/ttyUSB0:1")->name, "modbus");
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        assert_int_equal(port_open(&p, wrong[i], &shape, why), DRIVER_WRONG);
        assert_non_null(strstr(why, "write modbus:TTY:ADDRESS"));
    }
    assert_int_equal(port_open(&p, "modbus:/dev/serial/by-path/pci-0:1:1.0-port0:17", &shape, why), DRIVER_MISSING);
    assert_int_equal(port_open(&p, "modbus:/dev/null:17", &shape, why), DRIVER_WRONG);
    struct profile odd = shape;
    odd.baud = 12345;
    assert_int_equal(port_open(&p, "modbus:/dev/null:17", &odd, why), DRIVER_WRONG);
    assert_non_null(strstr(why, "no usual speed"));
    odd.form = FORM_LINES;
    assert_int_equal(port_open(&p, "modbus:/dev/null:17", &odd, why), DRIVER_WRONG);
    assert_non_null(strstr(why, "choose another profile"));
}

static void a_real_slave_is_read_and_zeroed(void **state)
{
    struct bus *b = *state;
    struct reading r;
    slave(b, 17);
    assert_int_equal(feeder_open(&b->f, now_us()), DRIVER_OK);
    for (int i = 0; i < 5; i++) {
        assert_int_equal(next(b, &r, 2000), DECODE_READING);
        assert_int_equal(r.mass, 2350 * PG_PER_MG);
        assert_int_equal(r.state, READING_STABLE);
        assert_int_equal(r.unit, UNIT_G);
        assert_int_equal(r.places, 3);
    }
    assert_int_equal(b->f.line.decoder.bad, 0);
    assert_int_equal(feeder_send(&b->f, FEEDER_ZERO), DRIVER_OK);
    do
        assert_int_equal(next(b, &r, 2000), DECODE_READING); /* the command's echo is no reading and no fault */
    while (r.mass != 0);
    assert_int_equal(b->f.line.decoder.bad, 0);
    assert_true(b->worst < WORST_US);
}

/* Registers that the slave has not: its exception is said as a bad line, and asked again. */
static void an_exception_of_a_real_slave(void **state)
{
    struct bus *b = *state;
    struct reading r;
    struct profile beyond = shape;
    beyond.request.bytes[2] = 0x7F;
    assert_true(feeder_init(&b->f, &beyond, b->device));
    slave(b, 17);
    assert_int_equal(feeder_open(&b->f, now_us()), DRIVER_OK);
    assert_int_equal(next(b, &r, 2000), DECODE_BAD_LINE);
    assert_int_equal(b->bytes.data[0], 5); /* whole, so that listen shows it */
    assert_int_equal(b->bytes.data[2], 0x83);
    assert_int_equal(b->bytes.data[3], 2); /* illegal data address */
    assert_int_equal(next(b, &r, 2000), DECODE_BAD_LINE);
    assert_true(b->worst < WORST_US);
}

static void a_slave_of_another_address_is_not_ours(void **state)
{
    struct bus *b = *state;
    struct reading r;
    slave(b, 18); /* it does not answer to 17 */
    assert_int_equal(feeder_open(&b->f, now_us()), DRIVER_OK);
    assert_int_equal(next(b, &r, 1500), DECODE_MORE);
    assert_true(b->worst < WORST_US);
}

/* Waits for the request; the test is the slave. */
static void asked(struct bus *b)
{
    struct reading r;
    uint8_t got[16];
    size_t n = 0;
    for (int i = 0; i < 400 && n < 8; i++) {
        assert_int_equal(next(b, &r, 10), DECODE_MORE);
        ssize_t more = read(b->master, got + n, sizeof got - n);
        n += more > 0 ? (size_t)more : 0;
    }
    assert_int_equal(n, 8);
    assert_memory_equal(got, REQUEST, 8);
}

static void published_frames(void **state)
{
    struct bus *b = *state;
    struct reading r;
    assert_int_equal(feeder_open(&b->f, now_us()), DRIVER_OK);
    asked(b);
    assert_true(pty_say(b->master, ANSWER, 11));
    assert_int_equal(next(b, &r, 1000), DECODE_READING);
    assert_int_equal(r.mass, (int32_t)0xAE415652 * PG_PER_MG);
    asked(b);
    /* in pieces, as an adaptor hands them over */
    for (int i = 0; i < 11; i++) {
        assert_true(pty_say(b->master, &ANSWER[i], 1));
        enum decode_result got = next(b, &r, i < 10 ? 3 : 500);
        assert_int_equal(got, i < 10 ? DECODE_MORE : DECODE_READING);
    }
    assert_true(b->worst < WORST_US);
}

/* Each of these is a bad line, no reading, and held nobody up; and the next answer is good. */
static void broken_frames(void **state)
{
    static const struct {
        const char *bytes;
        size_t len;
    } rows[] = {
        {"\x11\x03\x06\xAE\x41\x56\x52\x43\x40\x49\xAC", 11}, /* wrong CRC */
        {"\x11\x03\x06\xAE\x41\x57\x52\x43\x40\x49\xAD", 11}, /* a wrong bit */
        {"\x12\x03\x06\xAE\x41\x56\x52\x43\x40\x5D\x5D", 11}, /* another's address */
        {"\x00\x03\x06\xAE\x41\x56\x52\x43\x40\x89\xFD", 11}, /* everybody's, which the library lets through */
        {"\x11\x83\x02\xC1\x34", 5},                          /* illegal data address */
        {"\x11\x03\x06\xAE\x41", 5},                          /* cut off */
        {"\x11", 1},
        {"\x11\x03\xFF\xAE\x41\x56\x52\x43\x40\x49\xAD", 11},         /* more announced than comes */
        {"\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF\xFF", 13}, /* noise */
        {"\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0", 28},
    };
    struct bus *b = *state;
    struct reading r;
    assert_int_equal(feeder_open(&b->f, now_us()), DRIVER_OK);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        asked(b);
        assert_true(pty_say(b->master, rows[i].bytes, rows[i].len));
        assert_int_equal(next(b, &r, 900), DECODE_BAD_LINE);
        asked(b);
        assert_true(pty_say(b->master, ANSWER, 11));
        assert_int_equal(next(b, &r, 900), DECODE_READING);
    }
    assert_true(b->worst < WORST_US); /* a long lie is read byte by byte, none waited for longer than a millisecond */
}

static int lying(const struct bus *b)
{
    int n = 0;
    assert_int_equal(ioctl(b->f.port.fd, FIONREAD, &n), 0);
    return n;
}

/* What lies there before a request, or behind an answer, belongs to no request of ours. */
static void leftovers_answer_nothing(void **state)
{
    struct bus *b = *state;
    struct reading r;
    assert_int_equal(feeder_open(&b->f, now_us()), DRIVER_OK);
    asked(b);
    assert_true(pty_say(b->master, ANSWER ANSWER, 17)); /* one and a half */
    assert_int_equal(next(b, &r, 1000), DECODE_READING);
    assert_int_equal(lying(b), 0);
    asked(b);
    assert_true(pty_say(b->master, ANSWER, 11)); /* late: after the next request has gone out this answers nothing */
    assert_true(pty_wait(b->f.port.fd, POLLIN, 1000));
    assert_int_equal(b->f.port.driver->send(&b->f.port, shape.request.bytes, shape.request.len), DRIVER_OK);
    assert_int_equal(lying(b), 0);
}

/* A frame does not say which request it answers. Behind one that was not answered the next answer may be as old as that. */
static void a_late_answer_is_none(void **state)
{
    struct bus *b = *state;
    struct reading r;
    assert_int_equal(feeder_open(&b->f, now_us()), DRIVER_OK);
    asked(b);
    assert_int_equal(next(b, &r, shape.timeout_ms / 2), DECODE_MORE);
    asked(b); /* again, after the time-out */
    assert_true(pty_say(b->master, ANSWER, 11));
    assert_int_equal(next(b, &r, 1000), DECODE_BAD_LINE);
    for (unsigned i = 0; i < 3; i++) { /* and from then on they are told apart again */
        asked(b);
        assert_true(pty_say(b->master, ANSWER, 11));
        assert_int_equal(next(b, &r, 1000), DECODE_READING);
    }
}

/* While a part of an answer lies there poll would return at once: it is looked for by time. */
static void a_part_is_not_polled_for(void **state)
{
    struct bus *b = *state;
    struct reading r;
    short events;
    int fd;
    assert_int_equal(feeder_open(&b->f, now_us()), DRIVER_OK);
    asked(b);
    b->f.port.driver->watch(&b->f.port, &fd, &events);
    assert_int_equal(events, POLLIN);
    assert_true(pty_say(b->master, ANSWER, 4));
    assert_int_equal(next(b, &r, 5), DECODE_MORE);
    b->f.port.driver->watch(&b->f.port, &fd, &events);
    assert_int_equal(events, 0);
    assert_true(b->f.port.driver->wake(&b->f.port) > 0);
}

/* No answer: asked again after the profile's time, and nothing waits meanwhile. */
static void silence_is_asked_again(void **state)
{
    struct bus *b = *state;
    uint64_t first;
    assert_int_equal(feeder_open(&b->f, now_us()), DRIVER_OK);
    asked(b);
    first = now_us();
    asked(b);
    assert_true(now_us() - first > 900000 && now_us() - first < 3000000);
    assert_true(b->worst < WORST_US);
}

/* By a link, as by-id is one: the number of a closed pseudo-terminal may be another program's at once. */
static void unplugged_is_gone_and_busy_is_said(void **state)
{
    struct bus *b = *state;
    struct feeder second;
    struct reading r;
    char folder[] = "/tmp/tareline-modbus-XXXXXX", link_path[40], to[PTY_PATH];
    assert_non_null(mkdtemp(folder));
    snprintf(link_path, sizeof link_path, "%s/scale", folder);
    snprintf(to, sizeof to, "%.*s", (int)(strrchr(b->device, ':') - b->device - 7), b->device + 7);
    assert_int_equal(symlink(to, link_path), 0);
    snprintf(b->device, sizeof b->device, "modbus:%s:17", link_path);
    assert_true(feeder_init(&b->f, &shape, b->device));
    assert_int_equal(feeder_open(&b->f, now_us()), DRIVER_OK);
    assert_true(feeder_init(&second, &shape, b->device));
    assert_int_equal(feeder_open(&second, now_us()), DRIVER_BUSY);
    asked(b);
    unlink(link_path);
    rmdir(folder);
    close(b->master);
    b->master = -1;
    (void)next(b, &r, 400);
    assert_false(b->f.up);
    assert_non_null(strstr(b->f.why, "is gone: unplugged"));
    (void)next(b, &r, 600);
    assert_false(b->f.up);
    assert_non_null(strstr(b->f.why, "there is no device")); /* by now it was tried again */
}

int main(void)
{
#define T(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        T(claims_its_texts_and_refuses_the_others),
        T(a_real_slave_is_read_and_zeroed),
        T(an_exception_of_a_real_slave),
        T(a_slave_of_another_address_is_not_ours),
        T(published_frames),
        T(broken_frames),
        T(leftovers_answer_nothing),
        T(a_late_answer_is_none),
        T(a_part_is_not_polled_for),
        T(silence_is_asked_again),
        T(unplugged_is_gone_and_busy_is_said),
    };
    return cmocka_run_group_tests_name("drivers_modbus", tests, NULL, NULL);
}
