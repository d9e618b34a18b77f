/* core/check_sum.c against the check values that CRC catalogues give for the nine digits, and sums by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <cmocka.h>

#include "core/check_sum.h"

static const char digits[] = "123456789";

static uint16_t sum(struct profile_check c, const char *text)
{
    return check_sum(&c, text, (uint8_t)strlen(text));
}

/* 0x4B37: MODBUS over Serial Line's CRC of "123456789", as catalogues print it; the other two are from memory. */
static void crcs_give_the_catalogues_values(void **state)
{
    (void)state;
    assert_int_equal(sum((struct profile_check){.method = SUM_CRC_MODBUS}, digits), 0x4B37);
    assert_int_equal(sum((struct profile_check){.method = SUM_CRC_CCITT}, digits), 0x29B1);
    assert_int_equal(sum((struct profile_check){.method = SUM_CRC_XMODEM}, digits), 0x31C3);
}

/* The CRC over a frame and its own CRC, low byte first, is 0: MODBUS over Serial Line. */
static void a_good_modbus_frame_sums_to_nothing(void **state)
{
    struct profile_check c = {.method = SUM_CRC_MODBUS, .raw = true, .low_first = true};
    char frame[9 + CHECK_TEXT];

    (void)state;
    memcpy(frame, digits, 9);
    assert_int_equal(check_width(&c), 2);
    check_write(&c, check_sum(&c, frame, 9), frame + 9);
    assert_int_equal((uint8_t)frame[9], 0x37);
    assert_int_equal(check_sum(&c, frame, 11), 0);
}

/* '1' to '9' are 0x31 to 0x39: added up 0x1DD, xored 0x31. */
static void sums_by_hand(void **state)
{
    (void)state;
    assert_int_equal(sum((struct profile_check){.method = SUM_PLAIN, .bits = 16}, digits), 0x1DD);
    assert_int_equal(sum((struct profile_check){.method = SUM_PLAIN, .bits = 8}, digits), 0xDD);
    assert_int_equal(sum((struct profile_check){.method = SUM_PLAIN, .bits = 7}, digits), 0x5D);
    assert_int_equal(sum((struct profile_check){.method = SUM_PLAIN, .bits = 8, .negated = NEGATED_ONES}, digits),
                     0x22);
    assert_int_equal(sum((struct profile_check){.method = SUM_PLAIN, .bits = 8, .negated = NEGATED_TWOS}, digits),
                     0x23);
    assert_int_equal(sum((struct profile_check){.method = SUM_PLAIN, .bits = 7, .negated = NEGATED_TWOS}, digits),
                     0x23);
    assert_int_equal(sum((struct profile_check){.method = SUM_XOR, .bits = 8}, digits), 0x31);
    assert_int_equal(sum((struct profile_check){.method = SUM_XOR, .bits = 8}, "\xff\x0f"), 0xF0);
    assert_int_equal(sum((struct profile_check){.method = SUM_PLAIN, .bits = 8}, ""), 0);
}

static void stands_as_digits_or_bytes(void **state)
{
    struct profile_check c = {.method = SUM_PLAIN, .bits = 16};
    char out[CHECK_TEXT];

    (void)state;
    assert_int_equal(check_width(&c), 4);
    check_write(&c, 0x01DD, out);
    assert_memory_equal(out, "01DD", 4);
    assert_true(check_says(&c, 0x01DD, "01dD"));
    assert_false(check_says(&c, 0x01DD, "01DE"));
    assert_false(check_says(&c, 0x01DD, "01D\xdd"));
    c.low_first = true;
    check_write(&c, 0x01DD, out);
    assert_memory_equal(out, "DD10", 4); /* digit by digit */
    c.raw = true;
    assert_int_equal(check_width(&c), 2);
    assert_true(check_says(&c, 0x01DD, "\xdd\x01"));
    c.low_first = false;
    assert_true(check_says(&c, 0x01DD, "\x01\xdd"));
    assert_false(check_says(&c, 0x01DD, "\x01\xdc"));
    c.bits = 8;
    assert_int_equal(check_width(&c), 1);
    assert_true(check_says(&c, 'a', "a")); /* a raw byte has no case */
    assert_false(check_says(&c, 'A', "a"));
    c.method = SUM_NONE;
    assert_int_equal(check_width(&c), 0);
    assert_false(check_says(&c, 0, ""));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(crcs_give_the_catalogues_values),
        cmocka_unit_test(a_good_modbus_frame_sums_to_nothing),
        cmocka_unit_test(sums_by_hand),
        cmocka_unit_test(stands_as_digits_or_bytes),
    };
    return cmocka_run_group_tests_name("check sums", tests, NULL, NULL);
}
