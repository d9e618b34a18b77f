/* drivers/hid.c as far as it goes without a device: names, refusals, and how reports are handed over. Real devices, made by
 * the kernel's uhid, are the virtual machine's (tests/e2e/vm/hid.py). */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <errno.h>
#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "core/decode.h"
#include "drivers/hid.c" /* its inner functions too */

static const struct profile profile = {.name = "test", .form = FORM_REPORTS, .block = {.report = 3}};

static void names(void **state)
{
    static const char *const wrong[] = {
        "hid:",           "hid:1234",      "hid:1234:",     "hid:12345:1",  "hid:1234:abcde",
        "hid:1234:abcd:", "hid:1234-abcd", "hid:wxyz:abcd", "hid: 123:abcd"};
    struct hid_name n;
    struct port p;
    char why[DRIVER_WHY];
    (void)state;
    assert_true(hid_split("hid:1234:abCD", &n));
    assert_int_equal(n.vendor, 0x1234);
    assert_int_equal(n.product, 0xABCD);
    assert_null(n.serial);
    assert_true(hid_split("hid:1:2:a:b", &n));
    assert_string_equal(n.serial, "a:b");
    assert_string_equal(driver_for("hid:1234:abcd")->name, "hid");
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        assert_int_equal(port_open(&p, wrong[i], &profile, why), DRIVER_WRONG);
        assert_non_null(strstr(why, "write hid:VID:PID"));
    }
    assert_int_equal(port_open(&p, "hid:fffe:fffd", &profile, why), DRIVER_MISSING);
    assert_non_null(strstr(why, "tareline ports"));
    const struct profile lines = {.name = "test"};
    assert_int_equal(port_open(&p, "hid:fffe:fffd", &lines, why), DRIVER_WRONG);
}

static void one_is_chosen_or_none(void **state)
{
    const struct hid_found two[] = {{1, 2, "A1", "/dev/hidraw0"}, {1, 2, "B2", "/dev/hidraw1"}};
    struct hid_name n;
    enum driver_result r;
    char why[DRIVER_WHY] = "";
    (void)state;
    assert_true(hid_split("hid:1:2", &n));
    assert_ptr_equal(choose(&n, two, 1, "hid:1:2", &r, why), &two[0]);
    assert_null(choose(&n, two, 2, "hid:1:2", &r, why)); /* which of the two is never guessed */
    assert_int_equal(r, DRIVER_WRONG);
    assert_non_null(strstr(why, "more than one"));
    assert_true(hid_split("hid:1:2:B2", &n));
    assert_ptr_equal(choose(&n, two, 2, "hid:1:2:B2", &r, why), &two[1]); /* wherever it is plugged in */
    assert_true(hid_split("hid:1:2:C3", &n));
    assert_null(choose(&n, two, 2, "hid:1:2:C3", &r, why));
    assert_int_equal(r, DRIVER_MISSING);
}

static void serials_that_a_text_can_hold(void **state)
{
    wchar_t longest[HID_SERIAL + 1];
    char text[HID_SERIAL];
    (void)state;
    serial_text(L"A1:07", text);
    assert_string_equal(text, "A1:07");
    serial_text(NULL, text);
    assert_string_equal(text, "");
    serial_text(L"A 1", text);
    assert_string_equal(text, "");
    serial_text(L"A\x1b[2J", text); /* nothing that a terminal would act upon */
    assert_string_equal(text, "");
    wmemset(longest, L'x', HID_SERIAL);
    longest[HID_SERIAL] = 0;
    serial_text(longest, text);
    assert_string_equal(text, "");
}

/* A socket that keeps each write apart, as hidraw keeps reports. */
static void reports_stand_behind_their_lengths(void **state)
{
    int ends[2];
    uint8_t got[256];
    struct port p = {.driver = &driver_hid};
    (void)state;
    assert_int_equal(socketpair(AF_UNIX, SOCK_SEQPACKET | SOCK_NONBLOCK, 0, ends), 0);
    p.fd = ends[0];
    assert_int_equal(driver_hid.feed(&p, got, sizeof got, 0), 0);
    assert_int_equal(write(ends[1], "\x03\x04\x02\x00\x2C\x01", 6), 6);
    assert_int_equal(write(ends[1], "\x04\x02", 2), 2);
    assert_int_equal(driver_hid.feed(&p, got, sizeof got, 0), 10);
    assert_memory_equal(got, "\x06\x03\x04\x02\x00\x2C\x01\x02\x04\x02", 10);
    /* more than one read has room for: each whole, and the read counts as full */
    unsigned sent = 0, whole = 0;
    while (sent < 64 && write(ends[1], "\x03\x04\x02\x00\x2C\x01", 6) == 6)
        sent++;
    assert_int_equal(sent, 64);
    struct decoder d;
    struct reading r;
    decoder_reset(&d);
    for (int n; (n = driver_hid.feed(&p, got, sizeof got, 0)) > 0;) {
        unsigned before = whole;
        for (int i = 0; i < n; i++)
            whole += decode_byte(&profile, &d, got[i], 0, 0, &r) == DECODE_READING;
        assert_true(whole > before);
        assert_true(n == (int)sizeof got || whole == 64); /* full as long as more may be there */
    }
    assert_int_equal(whole, 64);
    assert_int_equal(d.bad, 0);
    memset(got, 7, sizeof got); /* a longer one is cut short, and no data report */
    assert_int_equal(write(ends[1], got, 200), 200);
    assert_int_equal(driver_hid.feed(&p, got, sizeof got, 0), 1 + REPORT_MOST);
    assert_int_equal(write(ends[1], "\x03\x04\x02\x00\x2C\x01", 6), 6);
    close(ends[1]);
    assert_int_equal(driver_hid.feed(&p, got, sizeof got, 0), 7); /* what came before the end is not lost */
    assert_int_equal(driver_hid.feed(&p, got, sizeof got, 0), DRIVER_GONE);
    port_close(&p);
    assert_int_equal(p.fd, -1);
}

/* A file takes the lock as a device does. */
static void a_second_open_is_busy(void **state)
{
    char file[] = "/tmp/tareline-hid-XXXXXX", why[DRIVER_WHY] = "";
    struct port one = {.fd = -1}, two = {.fd = -1};
    (void)state;
    close(mkstemp(file));
    assert_int_equal(open_found(&one, file, "hid:1:2", why), DRIVER_OK);
    assert_int_equal(open_found(&two, file, "hid:1:2", why), DRIVER_BUSY);
    assert_non_null(strstr(why, "in use by another program"));
    assert_int_equal(two.fd, -1);
    hid_port_close(&one);
    assert_int_equal(open_found(&two, file, "hid:1:2", why), DRIVER_OK);
    hid_port_close(&two);
    unlink(file);
    assert_int_equal(open_found(&two, file, "hid:1:2", why), DRIVER_MISSING);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names),
        cmocka_unit_test(one_is_chosen_or_none),
        cmocka_unit_test(serials_that_a_text_can_hold),
        cmocka_unit_test(reports_stand_behind_their_lengths),
        cmocka_unit_test(a_second_open_is_busy),
    };
    return cmocka_run_group_tests_name("drivers_hid", tests, NULL, NULL);
}
