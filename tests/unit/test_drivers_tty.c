/* drivers/tty.c on real pseudo-terminals: whose path it is, the lock, what comes through, unplugging. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include "drivers/line.h"
#include "pty.h"

static const struct profile profile = {.name = "test", .baud = 9600, .bits = 8, .stop = 1};

struct line {
    int master;
    char path[PTY_PATH];
    struct port port;
    char why[DRIVER_WHY];
};

static int set_up(void **state)
{
    struct line *l = calloc(1, sizeof *l);
    l->master = pty_make(l->path);
    *state = l;
    return l->master < 0 ? -1 : 0;
}

static int tear_down(void **state)
{
    struct line *l = *state;
    port_close(&l->port);
    if (l->master >= 0)
        close(l->master);
    free(l);
    return 0;
}

static enum driver_result opened(struct line *l)
{
    return port_open(&l->port, l->path, &profile, l->why);
}

static void claims_pseudo_terminals_only(void **state)
{
    struct line *l = *state;
    assert_string_equal(driver_for(l->path)->name, "tty");
    assert_string_equal(driver_for("/dev/ttyUSB0")->name, "serial");
    assert_string_equal(driver_for("/dev/null")->name, "serial"); /* which refuses it with a sentence */
    assert_null(driver_for("ttyUSB0"));
    assert_null(driver_for("udp:host:4001"));
    assert_null(driver_for(""));
    for (const struct driver *const *a = drivers; *a; a++)
        for (const struct driver *const *b = drivers; *b; b++)
            assert_true(a == b || !((*a)->claims(l->path) && (*b)->claims(l->path)));
}

static void claims_a_link_that_dangles(void **state)
{
    struct line *l = *state;
    char folder[] = "/tmp/tareline-XXXXXX", link[64];
    assert_non_null(mkdtemp(folder));
    snprintf(link, sizeof link, "%s/scale", folder);
    assert_int_equal(symlink("/dev/pts/99999", link), 0);
    assert_string_equal(driver_for(link)->name, "tty");
    assert_int_equal(port_open(&l->port, link, &profile, l->why), DRIVER_MISSING);
    assert_non_null(strstr(l->why, link));
    unlink(link);
    /* the same link leads to a live line now: it is followed anew */
    assert_int_equal(symlink(l->path, link), 0);
    assert_int_equal(port_open(&l->port, link, &profile, l->why), DRIVER_OK);
    unlink(link);
    rmdir(folder);
}

static void brings_every_byte(void **state)
{
    struct line *l = *state;
    uint8_t sent[256], got[512];
    for (int i = 0; i < 256; i++)
        sent[i] = (uint8_t)i; /* among them interrupt, XOFF, end of file, CR, NUL: none may be acted upon */
    assert_int_equal(opened(l), DRIVER_OK);
    assert_int_equal(l->port.byte_us, 1042); /* 10 bits at 9600 baud */
    assert_int_equal(l->port.driver->feed(&l->port, got, sizeof got, 0), 0);
    assert_true(pty_say(l->master, (const char *)sent, sizeof sent));
    assert_true(pty_wait(l->port.fd, POLLIN, 1000));
    size_t n = 0;
    while (n < sizeof sent && pty_wait(l->port.fd, POLLIN, 1000)) {
        int r = l->port.driver->feed(&l->port, got + n, sizeof got - n, 0);
        assert_true(r > 0);
        n += (size_t)r;
    }
    assert_int_equal(n, sizeof sent);
    assert_memory_equal(got, sent, sizeof sent);
    assert_int_equal(l->port.driver->feed(&l->port, got, sizeof got, 0), 0);
}

static void drops_what_queued_before(void **state)
{
    struct line *l = *state;
    uint8_t got[64];
    int other = open(l->path, O_RDWR | O_NOCTTY);
    assert_true(other >= 0);
    assert_true(pty_say(l->master, "old\r\n", 5));
    assert_true(pty_wait(other, POLLIN, 1000));
    assert_int_equal(opened(l), DRIVER_OK);
    assert_int_equal(l->port.driver->feed(&l->port, got, sizeof got, 0), 0);
    close(other);
}

static void sends_to_the_scale(void **state)
{
    struct line *l = *state;
    char got[16];
    assert_int_equal(opened(l), DRIVER_OK);
    assert_int_equal(l->port.driver->send(&l->port, "W\r\n", 3), DRIVER_OK);
    assert_true(pty_wait(l->master, POLLIN, 1000));
    assert_int_equal(read(l->master, got, sizeof got), 3);
    assert_memory_equal(got, "W\r\n", 3);
}

static void a_full_queue_is_said_and_never_waited_for(void **state)
{
    struct line *l = *state;
    char block[512];
    enum driver_result r = DRIVER_OK;
    memset(block, 'x', sizeof block);
    assert_int_equal(opened(l), DRIVER_OK);
    for (int i = 0; i < 1000 && r == DRIVER_OK; i++)
        r = l->port.driver->send(&l->port, block, sizeof block);
    assert_int_equal(r, DRIVER_SYSTEM);
}

static void is_gone_when_the_other_end_closes(void **state)
{
    struct line *l = *state;
    uint8_t got[64];
    assert_int_equal(opened(l), DRIVER_OK);
    assert_true(pty_say(l->master, "last", 4));
    assert_true(pty_wait(l->port.fd, POLLIN, 1000));
    close(l->master);
    l->master = -1;
    int r = l->port.driver->feed(&l->port, got, sizeof got, 0);
    assert_true(r == 4 || r == DRIVER_GONE); /* the kernel may drop what was queued */
    if (r > 0)
        r = l->port.driver->feed(&l->port, got, sizeof got, 0);
    assert_int_equal(r, DRIVER_GONE);
    assert_int_equal(l->port.driver->send(&l->port, "W", 1), DRIVER_GONE);
    port_close(&l->port);
    assert_int_equal(opened(l), DRIVER_MISSING);
}

static void a_second_open_is_busy(void **state)
{
    struct line *l = *state;
    struct port second;
    assert_int_equal(opened(l), DRIVER_OK);
    assert_int_equal(port_open(&second, l->path, &profile, l->why), DRIVER_BUSY);
    assert_non_null(strstr(l->why, "in use by another program"));
    port_close(&l->port);
    assert_int_equal(port_open(&second, l->path, &profile, l->why), DRIVER_OK);
    port_close(&second);
}

/* A holder that is killed leaves no lock behind, not even for an ordinary user. */
static void a_killed_holder_leaves_no_lock(void **state)
{
    struct line *l = *state;
    int status;
    pid_t holder = fork();
    if (holder == 0) {
        if (opened(l) != DRIVER_OK)
            _exit(1);
        raise(SIGKILL);
    }
    assert_int_equal(waitpid(holder, &status, 0), holder);
    assert_true(WIFSIGNALED(status));
    assert_int_equal(chmod(l->path, 0666), 0);
    pid_t user = fork();
    if (user == 0) {
        if (geteuid() == 0 && (setgid(65534) || setuid(65534)))
            _exit(99);
        _exit(opened(l) == DRIVER_OK ? 0 : 1);
    }
    assert_int_equal(waitpid(user, &status, 0), user);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
}

/* As an ordinary user, since root may open everything. */
static void no_permission_names_the_way_out(void **state)
{
    struct line *l = *state;
    int status;
    assert_int_equal(chmod(l->path, 0), 0);
    pid_t child = fork();
    if (child == 0) {
        if (geteuid() == 0 && (setgid(65534) || setuid(65534)))
            _exit(99);
        _exit(opened(l) != DRIVER_DENIED ? 1 : !strstr(l->why, "may not be opened by this user: ") ? 2 : 0);
    }
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    assert_int_equal(WEXITSTATUS(status), 0);
}

static void every_refusal_has_its_sentence(void **state)
{
    struct line *l = *state;
    char why[DRIVER_WHY], longest[300];
    memset(longest, 'x', sizeof longest - 1);
    longest[0] = '/';
    longest[sizeof longest - 1] = '\0';
    (void)l;
    static const int errors[] = {ENOENT, EACCES, EBUSY, ENOTTY, EIO, ENXIO, EMFILE};
    for (size_t i = 0; i < sizeof errors / sizeof *errors; i++) {
        memset(why, 0, sizeof why);
        assert_true(line_refused(errors[i], longest, longest, why) < DRIVER_OK);
        assert_true(strlen(why) < DRIVER_WHY);
        assert_non_null(strstr(why, ": ")); /* what is wrong: what to do */
    }
    assert_int_equal(port_open(&l->port, "scale one", &profile, l->why), DRIVER_WRONG);
    assert_non_null(strstr(l->why, "no driver for \"scale one\""));
    assert_non_null(strstr(l->why, "replay:FILE"));
}

int main(void)
{
#define T(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        T(claims_pseudo_terminals_only),
        T(claims_a_link_that_dangles),
        T(brings_every_byte),
        T(drops_what_queued_before),
        T(sends_to_the_scale),
        T(a_full_queue_is_said_and_never_waited_for),
        T(is_gone_when_the_other_end_closes),
        T(a_second_open_is_busy),
        T(a_killed_holder_leaves_no_lock),
        T(no_permission_names_the_way_out),
        T(every_refusal_has_its_sentence),
    };
    return cmocka_run_group_tests_name("drivers_tty", tests, NULL, NULL);
}
