/* drivers/tcp.c with real sockets: the test is the device server. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <arpa/inet.h>
#include <errno.h>
#include <netdb.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <stdio.h>
#include <sys/socket.h>
#include <time.h>

#include "line_fixture.h"
#include "pty.h"
#include "station/feeder.h"

struct server {
    int listening, line;
    char device[64];
    struct port port;
    char why[DRIVER_WHY];
};

static uint64_t ms(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint64_t)t.tv_sec * 1000 + (uint64_t)t.tv_nsec / 1000000;
}

/* Listens on a port of the system's choice, or on the given one again. */
static int listen_on(uint16_t *number, int family)
{
    int fd = socket(family, SOCK_STREAM | SOCK_CLOEXEC, 0), on = 1;
    struct sockaddr_in v4 = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    struct sockaddr_in6 v6 = {.sin6_family = AF_INET6, .sin6_addr = IN6ADDR_LOOPBACK_INIT};
    struct sockaddr *address = family == AF_INET ? (struct sockaddr *)&v4 : (struct sockaddr *)&v6;
    socklen_t len = family == AF_INET ? sizeof v4 : sizeof v6;
    v4.sin_port = v6.sin6_port = htons(*number);
    setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
    if (fd < 0 || bind(fd, address, len) || listen(fd, 4) || getsockname(fd, address, &len)) {
        if (fd >= 0)
            close(fd);
        return -1;
    }
    *number = ntohs(family == AF_INET ? v4.sin_port : v6.sin6_port);
    return fd;
}

static int set_up(void **state)
{
    struct server *s = calloc(1, sizeof *s);
    uint16_t number = 0;
    s->line = -1;
    s->listening = listen_on(&number, AF_INET);
    snprintf(s->device, sizeof s->device, "tcp:127.0.0.1:%u", number);
    *state = s;
    return s->listening < 0 ? -1 : 0;
}

static int tear_down(void **state)
{
    struct server *s = *state;
    port_close(&s->port);
    if (s->line >= 0)
        close(s->line);
    if (s->listening >= 0)
        close(s->listening);
    free(s);
    return 0;
}

static enum driver_result opened(struct server *s)
{
    return port_open(&s->port, s->device, &line_shape, s->why);
}

static void both_ends(struct server *s)
{
    assert_int_equal(opened(s), DRIVER_OK);
    s->line = accept(s->listening, NULL, NULL);
    assert_true(s->line >= 0);
}

static int fed(struct server *s, uint8_t *buf, size_t cap)
{
    assert_true(pty_wait(s->port.fd, POLLIN, 2000));
    return s->port.driver->feed(&s->port, buf, cap, 0);
}

static void claims_its_texts_and_refuses_the_others(void **state)
{
    static const char *const wrong[] = {"tcp:",          "tcp:host",       "tcp:host:",      "tcp::4001",
                                        "tcp:host:0",    "tcp:host:70000", "tcp:host:40x1",  "tcp:::1:4001",
                                        "tcp:[::1:4001", "tcp:[]:4001",    "tcp:host:-4001", "tcp:host:444444444444"};
    struct server *s = *state;
    assert_string_equal(driver_for("tcp:host:4001")->name, "tcp");
    assert_string_equal(driver_for("tcp:[fe80::1%eth0/64]:1")->name, "tcp"); /* a '/' behind a ':' makes no path */
    assert_string_equal(driver_for("tcp:")->name, "tcp");
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        assert_int_equal(port_open(&s->port, wrong[i], &line_shape, s->why), DRIVER_WRONG);
        assert_non_null(strstr(s->why, "write tcp:HOST:PORT"));
    }
    char longest[400];
    memset(longest, 'x', sizeof longest);
    memcpy(longest, "tcp:", 4);
    strcpy(longest + 380, ":4001");
    assert_int_equal(port_open(&s->port, longest, &line_shape, s->why), DRIVER_WRONG);
    assert_true(strlen(s->why) < DRIVER_WHY);
}

/* RFC 6761: names under .invalid don't exist. */
static void a_name_that_is_none_is_said(void **state)
{
    struct server *s = *state;
    assert_int_equal(port_open(&s->port, "tcp:scale.invalid:4001", &line_shape, s->why), DRIVER_MISSING);
    assert_non_null(strstr(s->why, "scale.invalid can't be found"));
}

static void reports_do_not_come_over_it(void **state)
{
    struct server *s = *state;
    struct profile p = line_shape;
    p.form = FORM_REPORTS;
    assert_int_equal(port_open(&s->port, s->device, &p, s->why), DRIVER_WRONG);
    assert_non_null(strstr(s->why, "choose another profile"));
}

static void bytes_both_ways(void **state)
{
    struct server *s = *state;
    uint8_t got[600], sent[512];
    size_t n = 0;
    int value = 0;
    socklen_t len = sizeof value;
    both_ends(s);
    assert_int_equal(s->port.driver->feed(&s->port, got, sizeof got, 0), 0); /* nothing yet: no wait, no end */
    for (size_t i = 0; i < sizeof sent; i++)
        sent[i] = (uint8_t)i;
    assert_int_equal(write(s->line, sent, sizeof sent), sizeof sent);
    while (n < sizeof sent) {
        int r = fed(s, got + n, sizeof got - n);
        assert_true(r > 0);
        n += (size_t)r;
    }
    assert_memory_equal(got, sent, sizeof sent);
    assert_int_equal(s->port.driver->send(&s->port, "W\r", 2), DRIVER_OK);
    assert_true(pty_wait(s->line, POLLIN, 2000));
    assert_int_equal(read(s->line, got, sizeof got), 2);
    assert_memory_equal(got, "W\r", 2);
    assert_int_equal(getsockopt(s->port.fd, SOL_SOCKET, SO_KEEPALIVE, &value, &len), 0);
    assert_true(value);
    assert_int_equal(getsockopt(s->port.fd, IPPROTO_TCP, TCP_USER_TIMEOUT, &value, &len), 0);
    assert_int_equal(value, 10000);
    assert_int_equal(getsockopt(s->port.fd, IPPROTO_TCP, TCP_NODELAY, &value, &len), 0);
    assert_true(value);
}

static void over_ipv6_and_by_name(void **state)
{
    struct server *s = *state;
    uint16_t number = 0;
    char device[64];
    int six = listen_on(&number, AF_INET6);
    if (six >= 0) { /* a machine without IPv6 has no ::1 to listen on */
        snprintf(device, sizeof device, "tcp:[::1]:%u", number);
        assert_int_equal(port_open(&s->port, device, &line_shape, s->why), DRIVER_OK);
        port_close(&s->port);
        close(six);
    }
    snprintf(device, sizeof device, "tcp:localhost:%s", strrchr(s->device, ':') + 1);
    /* localhost may be ::1 first, where nobody listens; the barest machine, without /etc/hosts, does not know it: then it
     * must be said, not waited for */
    struct addrinfo *known = NULL;
    const char *said = getaddrinfo("localhost", NULL, NULL, &known) ? "can't be found" : "refuses";
    enum driver_result r = port_open(&s->port, device, &line_shape, s->why);
    assert_true((r == DRIVER_OK && known) || (r == DRIVER_MISSING && strstr(s->why, said)));
    if (known)
        freeaddrinfo(known);
}

static void a_second_open_is_busy(void **state)
{
    struct server *s = *state;
    struct port second;
    both_ends(s);
    assert_int_equal(port_open(&second, s->device, &line_shape, s->why), DRIVER_BUSY);
    assert_non_null(strstr(s->why, "open already"));
}

static void closed_and_reset_are_gone(void **state)
{
    struct server *s = *state;
    const struct linger at_once = {.l_onoff = 1};
    uint8_t got[8];
    both_ends(s);
    assert_int_equal(write(s->line, "half", 4), 4);
    close(s->line);
    assert_int_equal(fed(s, got, sizeof got), 4); /* what came before the end is not lost */
    assert_int_equal(fed(s, got, sizeof got), DRIVER_GONE);
    port_close(&s->port);
    both_ends(s); /* bytes came: the next try is not held off */
    setsockopt(s->line, SOL_SOCKET, SO_LINGER, &at_once, sizeof at_once);
    close(s->line); /* with a reset */
    s->line = -1;
    assert_int_equal(fed(s, got, sizeof got), DRIVER_GONE);
    assert_int_equal(s->port.driver->send(&s->port, "W", 1), DRIVER_GONE);
}

static void a_full_queue_is_said_and_never_waited_for(void **state)
{
    struct server *s = *state;
    static char block[65536];
    enum driver_result r = DRIVER_OK;
    both_ends(s);
    for (int i = 0; i < 1000 && r == DRIVER_OK; i++)
        r = s->port.driver->send(&s->port, block, sizeof block);
    assert_int_equal(r, DRIVER_SYSTEM);
}

/* Refused: said, then held off longer and longer, and no try is waited for. */
static void refused_and_held_off(void **state)
{
    struct server *s = *state;
    uint16_t number = (uint16_t)atoi(strrchr(s->device, ':') + 1);
    close(s->listening);
    s->listening = -1;
    assert_int_equal(opened(s), DRIVER_MISSING);
    assert_non_null(strstr(s->why, "refuses"));
    s->listening = listen_on(&number, AF_INET);
    assert_true(s->listening >= 0);
    assert_int_equal(opened(s), DRIVER_MISSING); /* within the pause nothing is tried, and the reason stays */
    assert_non_null(strstr(s->why, "refuses"));
    usleep(450000);
    assert_int_equal(opened(s), DRIVER_OK);
    /* taken and dropped without a byte, again and again: each pause is longer */
    for (int i = 0; i < 2; i++) {
        uint64_t begun = ms();
        port_close(&s->port);
        while (opened(s) != DRIVER_OK) {
            assert_true(ms() - begun < 3000);
            assert_non_null(strstr(s->why, "closes the connection at once"));
            usleep(20000);
        }
        assert_true(ms() - begun >= (i ? 1500 : 700));
    }
}

/* A peer without power: nothing comes back, not even a refusal. Its stand-in here is a listener whose queue is full. */
static void a_dead_peer_holds_nobody_up(void **state)
{
    struct server *s = *state;
    int fill[8];
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    uint64_t begun;
    address.sin_port = htons((uint16_t)atoi(strrchr(s->device, ':') + 1));
    assert_int_equal(listen(s->listening, 0), 0);
    for (int i = 0; i < 8; i++) {
        fill[i] = socket(AF_INET, SOCK_STREAM | SOCK_NONBLOCK, 0);
        (void)connect(fill[i], (struct sockaddr *)&address, sizeof address);
    }
    usleep(50000);
    begun = ms();
    assert_int_equal(opened(s), DRIVER_MISSING); /* the first opening waits two seconds at most */
    assert_true(ms() - begun < 3000);
    assert_non_null(strstr(s->why, "does not answer yet"));
    for (int i = 0; i < 5; i++) {
        begun = ms();
        assert_int_equal(opened(s), DRIVER_MISSING);
        assert_true(ms() - begun < 100); /* the others hardly at all */
    }
    for (int i = 0; i < 8; i++)
        close(fill[i]);
    while (opened(s) != DRIVER_OK) { /* it is back, and the connection that was begun is made */
        int line = accept4(s->listening, NULL, NULL, SOCK_NONBLOCK);
        if (line >= 0)
            close(line);
        assert_true(ms() - begun < 12000);
        usleep(20000);
    }
}

/* Through the feeder: half lines are put together, a polled scale is asked, and after the end it comes back by itself. */
static void a_scale_behind_it(void **state)
{
    struct server *s = *state;
    struct profile polled = line_shape;
    static struct feeder f;
    struct feeder_bytes bytes;
    struct reading r;
    char asked[8];
    uint64_t now = 1000000;
    polled.sends = SENDS_POLLED;
    assert_true(feeder_init(&f, &polled, s->device));
    assert_int_equal(feeder_open(&f, now), DRIVER_OK);
    s->line = accept(s->listening, NULL, NULL);
    assert_int_equal(feeder_read(&f, 0, now, &bytes), FEEDER_BYTES);
    assert_int_equal(feeder_take(&f.line, &bytes, &r), DECODE_MORE);
    assert_true(pty_wait(s->line, POLLIN, 2000));
    assert_int_equal(read(s->line, asked, sizeof asked), 2);
    assert_memory_equal(asked, "R\r", 2);
    assert_int_equal(write(s->line, "rest\r\n" LINE, 12), 12); /* a line and a half */
    assert_true(pty_wait(f.port.fd, POLLIN, 2000));
    assert_int_equal(feeder_read(&f, POLLIN, now += 10000, &bytes), FEEDER_BYTES);
    while (feeder_take(&f.line, &bytes, &r) == DECODE_BAD_LINE)
        ;
    assert_int_equal(write(s->line, &LINE[6], LINE_LEN - 6), LINE_LEN - 6);
    assert_true(pty_wait(f.port.fd, POLLIN, 2000));
    assert_int_equal(feeder_read(&f, POLLIN, now += 10000, &bytes), FEEDER_BYTES);
    assert_int_equal(feeder_take(&f.line, &bytes, &r), DECODE_READING);
    assert_int_equal(r.mass, 250 * PG_PER_G);
    close(s->line);
    assert_true(pty_wait(f.port.fd, POLLIN, 2000));
    assert_int_equal(feeder_read(&f, POLLIN, now += 10000, &bytes), FEEDER_DOWN);
    assert_int_equal(feeder_read(&f, 0, now += 10000, &bytes), FEEDER_NOTHING);
    assert_int_equal(feeder_read(&f, 0, now += FEEDER_RETRY_US, &bytes), FEEDER_UP);
    s->line = accept(s->listening, NULL, NULL);
    assert_true(s->line >= 0);
    feeder_close(&f);
}

int main(void)
{
    alarm(60); /* a connect that waits would wait for minutes */
#define T(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        T(claims_its_texts_and_refuses_the_others),
        T(a_name_that_is_none_is_said),
        T(reports_do_not_come_over_it),
        T(bytes_both_ways),
        T(over_ipv6_and_by_name),
        T(a_second_open_is_busy),
        T(closed_and_reset_are_gone),
        T(a_full_queue_is_said_and_never_waited_for),
        T(refused_and_held_off),
        T(a_dead_peer_holds_nobody_up),
        T(a_scale_behind_it),
    };
    return cmocka_run_group_tests_name("drivers_tcp", tests, NULL, NULL);
}
