/* drivers/serial.c without a serial port: what it claims and how it refuses. Weighing through a true port is tested in the
 * virtual machine. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <errno.h>
#include <stdio.h>
#include <sys/stat.h>
#include <sys/wait.h>

#include "drivers/line.h"
#include "pty.h"

static const struct profile profile = {.name = "test", .baud = 9600, .bits = 8, .stop = 1};
static struct port port;
static char why[DRIVER_WHY];

static enum driver_result opened(const char *device)
{
    why[0] = '\0';
    return port_open(&port, device, &profile, why);
}

static void claims_paths(void **state)
{
    (void)state;
    assert_string_equal(driver_for("/dev/ttyUSB9")->name, "serial");
    assert_string_equal(driver_for("/dev/serial/by-id/usb-adaptor-if00-port0")->name, "serial");
    /* names under by-path hold colons */
    assert_string_equal(driver_for("/dev/serial/by-path/pci-0000:00:14.0-usb-0:2:1.0-port0")->name, "serial");
    assert_string_equal(driver_for("./scale")->name, "serial");
    assert_string_not_equal(driver_for("replay:/dev/ttyUSB0")->name, "serial");
    assert_string_equal(driver_for("hid:1234:abcd")->name, "hid");
    assert_string_equal(driver_for("modbus:/dev/ttyUSB0:3")->name, "modbus");
}

static void byte_time_counts_every_bit(void **state)
{
    (void)state;
    struct profile p = profile;
    assert_int_equal(line_byte_us(&p), 1042);
    p.bits = 7, p.parity = PARITY_EVEN;
    assert_int_equal(line_byte_us(&p), 1042); /* 7E1 is 10 bits as well */
    p.bits = 8;
    assert_int_equal(line_byte_us(&p), 1146);
    p.stop = 2, p.baud = 300;
    assert_int_equal(line_byte_us(&p), 40000);
    p.baud = 0;
    assert_int_equal(line_byte_us(&p), 0);
}

static void missing_says_what_to_do(void **state)
{
    (void)state;
    assert_int_equal(opened("/dev/ttyUSB97"), DRIVER_MISSING);
    assert_string_equal(why, "there is no device /dev/ttyUSB97 now: plug it in, or look what tareline ports lists");
    assert_int_equal(opened("/dev/null/ttyUSB0"), DRIVER_MISSING);
    assert_int_equal(port.fd, -1);
    assert_null(port.driver);
    port_close(&port); /* of a port that never opened: nothing */
}

static void what_is_no_line_is_refused(void **state)
{
    (void)state;
    char file[] = "/tmp/tareline-XXXXXX", queue[80];
    int fd = mkstemp(file);
    assert_true(fd >= 0);
    assert_int_equal(opened(file), DRIVER_WRONG);
    assert_non_null(strstr(why, "is not a serial line"));
    assert_int_equal(opened("/dev/null"), DRIVER_WRONG);
    assert_int_equal(opened("/tmp"), DRIVER_WRONG);
    snprintf(queue, sizeof queue, "%s.queue", file);
    assert_int_equal(mkfifo(queue, 0600), 0);
    assert_int_equal(opened(queue), DRIVER_WRONG); /* and does not wait for a writer */
    unlink(queue);
    close(fd);
    unlink(file);
}

static void another_user_is_told_the_group(void **state)
{
    (void)state;
    char file[] = "/tmp/tareline-XXXXXX", text[DRIVER_WHY];
    int fd = mkstemp(file);
    assert_true(fd >= 0);
    if (geteuid() == 0)
        assert_int_equal(fchown(fd, 0, 20), 0); /* dialout: Debian's base-passwd */
    assert_int_equal(line_refused(EACCES, file, "/dev/ttyUSB0", text), DRIVER_DENIED);
    if (geteuid() == 0)
        assert_string_equal(text, "/dev/ttyUSB0 may not be opened by this user: add the user to the group that owns it "
                                  "(dialout) and log in again");
    assert_int_equal(line_refused(EACCES, "/nowhere", "/dev/ttyUSB0", text), DRIVER_DENIED);
    assert_non_null(strstr(text, "ask its owner"));
    close(fd);
    unlink(file);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(claims_paths),
        cmocka_unit_test(byte_time_counts_every_bit),
        cmocka_unit_test(missing_says_what_to_do),
        cmocka_unit_test(what_is_no_line_is_refused),
        cmocka_unit_test(another_user_is_told_the_group),
    };
    return cmocka_run_group_tests_name("drivers_serial", tests, NULL, NULL);
}
