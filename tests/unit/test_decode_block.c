/* core/decode_block.c: HID weighing reports and Modbus answers. The examples of reports are made from the layout of the
 * USB-IF's weighing usage page (HID Usage Tables, page 0x8D); the Modbus frames are those that the Modbus documents and
 * their readers print, each named below. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <string.h>

#include "core/check_sum.h"
#include "core/decode_block.h"

static const struct profile reports = {
    .form = FORM_REPORTS, .has_motion = true, .block = {.report = 3}, .sends = SENDS_CONTINUOUS};

static enum decode_result report(const char *bytes, uint8_t len, struct reading *r)
{
    memset(r, 0x55, sizeof *r);
    return decode_block(&reports, (const uint8_t *)bytes, len, r);
}

static void is(const char bytes[6], enum reading_state state, mass_pg mass, enum mass_unit unit, uint8_t places)
{
    struct reading r;
    assert_int_equal(report(bytes, 6, &r), DECODE_READING);
    assert_int_equal(r.state, state);
    assert_int_equal(r.mass, mass);
    assert_int_equal(r.unit, unit);
    assert_int_equal(r.places, places);
    assert_int_equal(r.basis, BASIS_UNKNOWN);
}

static void example_reports(void **state)
{
    (void)state;
    is("\x03\x04\x02\x00\x2C\x01", READING_STABLE, 300 * PG_PER_G, UNIT_G, 0);
    is("\x03\x04\x03\xFD\xD2\x04", READING_STABLE, 1234 * PG_PER_G, UNIT_KG, 3);
    is("\x03\x04\x0B\xFF\x85\x00", READING_STABLE, 133 * (PG_PER_OZ / 10), UNIT_OZ, 1);
    is("\x03\x04\x0C\xFE\x64\x00", READING_STABLE, PG_PER_LB, UNIT_LB, 2);
    is("\x03\x03\x02\xFF\x39\x30", READING_MOVING, 12345 * (PG_PER_G / 10), UNIT_G, 1);
    is("\x03\x02\x02\xFF\x00\x00", READING_STABLE, 0, UNIT_G, 1);
}

static void states_without_a_weight(void **state)
{
    static const struct {
        const char *bytes;
        uint8_t state;
    } rows[] = {
        {"\x03\x01\x02\x00\x05\x00", READING_FAULT},
        {"\x03\x05\x02\x00\x05\x00", READING_UNDER}, /* no sign in the field: never +5 g */
        {"\x03\x06\x02\x00\xFF\xFF", READING_OVER},
        {"\x03\x07\x02\x00\x05\x00", READING_FAULT},
        {"\x03\x08\x02\x00\x05\x00", READING_FAULT},
        {"\x03\x06\x02\x7F\xFF\xFF", READING_OVER}, /* whatever the power of ten says */
        {"\x03\x04\x05\x00\x05\x00", READING_UNIT}, /* tael */
        {"\x03\x04\x09\x00\x05\x00", READING_UNIT}, /* a ton, short or long */
        {"\x03\x05\x09\x00\x05\x00", READING_UNDER},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct reading r;
        assert_int_equal(report(rows[i].bytes, 6, &r), DECODE_READING);
        assert_int_equal(r.state, rows[i].state);
        assert_false(reading_has_weight(&r));
        assert_int_equal(r.mass, 0);
    }
}

/* One of each unit. Grams of a unit from its definition: pennyweight 1.55517384, troy ounce 31.1034768, carat 0.2. */
static void every_unit(void **state)
{
    (void)state;
    is("\x03\x04\x01\x00\x01\x00", READING_STABLE, PG_PER_MG, UNIT_MG, 0);
    is("\x03\x04\x02\x00\x01\x00", READING_STABLE, PG_PER_G, UNIT_G, 0);
    is("\x03\x04\x03\x00\x01\x00", READING_STABLE, PG_PER_KG, UNIT_KG, 0);
    is("\x03\x04\x04\x00\x01\x00", READING_STABLE, PG_PER_G / 5, UNIT_G, 1);
    is("\x03\x04\x06\x00\x01\x00", READING_STABLE, INT64_C(64798910000), UNIT_GR, 0);
    is("\x03\x04\x07\x00\x01\x00", READING_STABLE, INT64_C(1555173840000), UNIT_GR, 0);
    is("\x03\x04\x08\x00\x01\x00", READING_STABLE, 1000 * PG_PER_KG, UNIT_KG, 0);
    is("\x03\x04\x0A\x00\x01\x00", READING_STABLE, INT64_C(31103476800000), UNIT_GR, 0);
    is("\x03\x04\x0B\x00\x01\x00", READING_STABLE, INT64_C(28349523125000), UNIT_OZ, 0);
    is("\x03\x04\x0C\x00\x01\x00", READING_STABLE, INT64_C(453592370000000), UNIT_LB, 0);
}

static void refused_reports(void **state)
{
    static const struct {
        const char *bytes;
        uint8_t len;
    } rows[] = {
        {"\x03\x00\x02\x00\x0A\x00", 6},     {"\x03\x09\x02\x00\x0A\x00", 6},
        {"\x03\x04\x00\x00\x0A\x00", 6},     {"\x03\x04\x0D\x00\x0A\x00", 6},
        {"\x04\x04\x02\x00\x0A\x00", 6},     {"\x03\x04\x02\x00\x0A", 5},
        {"\x03\x04\x02\x00\x0A\x00\x00", 7}, {"\x03", 1},
        {"\x03\x04\x03\x04\x01\x00", 6},                                      /* 10,000 kg: more than a mass can be */
        {"\x03\x04\x03\x7F\x01\x00", 6},     {"\x03\x04\x02\x80\x01\x00", 6}, /* powers far out */
        {"\x03\x04\x0B\xFC\x01\x00", 6},                                      /* finer than a picogram */
        {"\x03\x04\x08\x00\x0A\x00", 6},                                      /* 10 t */
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct reading r;
        assert_int_equal(report(rows[i].bytes, rows[i].len, &r), DECODE_BAD_LINE);
    }
}

/* Weight in registers 0x6B and 0x6C, status in 0x6D: the request and answer that the Modbus texts print. */
static struct profile registers(void)
{
    return (struct profile){
        .form = FORM_REGISTERS,
        .unit = UNIT_G,
        .implied = 3,
        .block = {.function = 3,
                  .count = 3,
                  .weight = 0,
                  .words = 2,
                  .is_signed = true,
                  .has_status = true,
                  .status = 2,
                  .factor = 1},
        .bit_count = 2,
        .named = {{1, 0x40, 0x40, FIELD_STATUS, READING_STABLE}, {0, 0x80, 0x80, FIELD_STATUS, READING_OVER}},
    };
}

static uint16_t crc(const void *bytes, uint8_t n)
{
    const struct profile_check c = {.method = SUM_CRC_MODBUS, .bits = 16, .raw = true, .low_first = true};
    return check_sum(&c, bytes, n);
}

static void published_frames(void **state)
{
    struct profile p = registers();
    struct reading r = {0};
    (void)state;
    assert_int_equal(crc("123456789", 9), 0x4B37);
    assert_int_equal(crc("\x02\x07", 2), 0x1241);
    assert_int_equal(crc("\x11\x03\x00\x6B\x00\x03", 6), 0x8776);                 /* sent 76 87 */
    assert_int_equal(crc("\x11\x03\x06\xAE\x41\x56\x52\x43\x40\x49\xAD", 11), 0); /* a good frame with its own */
    const uint8_t answer[] = "\x11\x03\x06\xAE\x41\x56\x52\x43\x40\x49\xAD";
    assert_int_equal(decode_block(&p, answer, 11, &r), DECODE_READING);
    assert_int_equal(r.state, READING_STABLE); /* 0x4340: bit 0x40 of the low byte */
    assert_int_equal(r.mass, (int32_t)0xAE415652 * PG_PER_MG);
    assert_int_equal(r.step, PG_PER_MG);
    assert_int_equal(r.places, 3);
    p.block.is_signed = false;
    assert_int_equal(decode_block(&p, answer, 11, &r), DECODE_READING);
    assert_int_equal(r.mass, INT64_C(0xAE415652) * PG_PER_MG);
    p.block.low_first = true;
    assert_int_equal(decode_block(&p, answer, 11, &r), DECODE_READING);
    assert_int_equal(r.mass, INT64_C(0x5652AE41) * PG_PER_MG);
    p.block.words = 1;
    p.block.weight = 1;
    p.block.factor = 5;
    assert_int_equal(decode_block(&p, answer, 11, &r), DECODE_READING);
    assert_int_equal(r.mass, 5 * INT64_C(0x5652) * PG_PER_MG);
    assert_int_equal(r.step, 5 * PG_PER_MG);
    /* the exception that the same request may get: illegal data address */
    assert_int_equal(decode_block(&p, (const uint8_t *)"\x11\x83\x02\xC1\x34", 5, &r), DECODE_BAD_LINE);
}

/* An answer with its CRC. */
static enum decode_result answered(const struct profile *p, const char *head, uint8_t n, struct reading *r)
{
    uint8_t frame[64];
    uint16_t sum = crc(head, n);
    memcpy(frame, head, n);
    frame[n] = (uint8_t)sum;
    frame[n + 1] = (uint8_t)(sum >> 8);
    return decode_block(p, frame, (uint8_t)(n + 2), r);
}

static void what_an_answer_may_say(void **state)
{
    struct profile p = registers();
    struct reading r = {0};
    (void)state;
    assert_int_equal(answered(&p, "\x11\x03\x06\xFF\xFF\xFF\xFB\x00\x40", 9, &r), DECODE_READING);
    assert_int_equal(r.mass, -5 * PG_PER_MG);
    assert_int_equal(answered(&p, "\x11\x03\x06\x80\x00\x00\x00\x00\x00", 9, &r), DECODE_READING);
    assert_int_equal(r.mass, INT32_MIN * PG_PER_MG);
    assert_int_equal(r.state, READING_UNKNOWN);
    assert_int_equal(answered(&p, "\x11\x03\x06\x00\x00\x00\x05\x80\x40", 9, &r), DECODE_READING);
    assert_int_equal(r.state, READING_OVER); /* the graver one holds */
    p.block.words = 1;
    assert_int_equal(answered(&p, "\x11\x03\x06\xFF\xFE\x00\x00\x00\x40", 9, &r), DECODE_READING);
    assert_int_equal(r.mass, -2 * PG_PER_MG);
    p.named[1] = (struct profile_bit){0, 0x01, 0x01, FIELD_LITERAL, 0}; /* a bit that is always so */
    assert_int_equal(answered(&p, "\x11\x03\x06\xFF\xFE\x00\x00\x00\x40", 9, &r), DECODE_BAD_LINE);
    p.named[1] = (struct profile_bit){0, 0x01, 0x01, FIELD_SIGN, 1};
    assert_int_equal(answered(&p, "\x11\x03\x06\x00\x02\x00\x00\x01\x40", 9, &r), DECODE_READING);
    assert_int_equal(r.mass, -2 * PG_PER_MG);
    p.named[1] = (struct profile_bit){0, 0x01, 0x01, FIELD_UNIT, UNIT_LB};
    assert_int_equal(answered(&p, "\x11\x03\x06\x00\x02\x00\x00\x01\x40", 9, &r), DECODE_READING);
    assert_int_equal(r.mass, 2 * (PG_PER_LB / 1000));
    p.named[1].kind = FIELD_BASIS;
    p.unit = UNIT_KG;
    p.block.factor = 10000; /* 20 kg in one count's step of 10 kg: room for it before it is cut to its decimals */
    assert_int_equal(answered(&p, "\x11\x03\x06\x00\x02\x00\x00\x00\x40", 9, &r), DECODE_READING);
    assert_int_equal(r.mass, 20 * PG_PER_KG);
    p.block.factor = 65535;
    p.implied = 0;
    assert_int_equal(answered(&p, "\x11\x03\x06\x00\x02\x00\x00\x00\x40", 9, &r), DECODE_BAD_LINE);
    p.implied = 3;
    p.block.factor = 1;
    p.unit = UNIT_NONE;
    assert_int_equal(answered(&p, "\x11\x03\x06\x00\x02\x00\x00\x00\x40", 9, &r), DECODE_READING);
    assert_int_equal(r.state, READING_UNIT);
}

static void refused_answers(void **state)
{
    struct profile p = registers();
    struct reading r = {0};
    uint8_t good[] = "\x11\x03\x06\xAE\x41\x56\x52\x43\x40\x49\xAD";
    (void)state;
    for (uint8_t bit = 0; bit < 8; bit++) /* each single wrong bit */
        for (uint8_t i = 0; i < 11; i++) {
            good[i] ^= (uint8_t)(1u << bit);
            assert_int_equal(decode_block(&p, good, 11, &r), DECODE_BAD_LINE);
            good[i] ^= (uint8_t)(1u << bit);
        }
    for (uint8_t len = 0; len < 11; len++)
        assert_int_equal(decode_block(&p, good, len, &r), DECODE_BAD_LINE);
    /* rightly sent, but not what was asked for: two registers, a byte count that lies, no registers */
    assert_int_equal(answered(&p, "\x11\x03\x04\xAE\x41\x56\x52", 7, &r), DECODE_BAD_LINE);
    assert_int_equal(answered(&p, "\x11\x03\x06\xAE\x41\x56\x52", 7, &r), DECODE_BAD_LINE);
    assert_int_equal(answered(&p, "\x11\x03\x00", 3, &r), DECODE_BAD_LINE);
    /* a command was taken: no reading, and no fault */
    assert_int_equal(answered(&p, "\x11\x06\x00\x10\x00\x01", 6, &r), DECODE_MORE);
    /* a table that points outside of the answer is not believed */
    p.block.weight = 2;
    assert_int_equal(decode_block(&p, good, 11, &r), DECODE_BAD_LINE);
    p = registers();
    p.block.status = 3;
    assert_int_equal(decode_block(&p, good, 11, &r), DECODE_BAD_LINE);
}

/* Blocks in a stream: behind their lengths, filled up with zeros, cut by reads. */
static void blocks_in_a_stream(void **state)
{
    static const char stream[] = "\x06\x03\x04\x02\x00\x2C\x01\x00\x00\x00\x06\x03\x04\x02\x00\x2D\x01"
                                 "\x02\x03\x04\x06\x03\x05\x02\x00\x2D\x01";
    struct decoder d;
    struct reading r;
    unsigned good = 0, bad = 0;
    (void)state;
    decoder_reset(&d);
    for (unsigned i = 0; i < sizeof stream - 1; i++) {
        enum decode_result got = decode_byte(&reports, &d, (uint8_t)stream[i], 1000 + i, 500 + i, &r);
        assert_int_equal(decode_missing(&d), 0);
        bad += got == DECODE_BAD_LINE;
        if (got != DECODE_READING)
            continue;
        good++;
        assert_int_equal(r.at, 1000 + i);
        assert_int_equal(r.since, 500 + i - 6); /* of its first byte, the length */
        assert_int_equal(r.mass, good == 1 ? 300 * PG_PER_G : good == 2 ? 301 * PG_PER_G : 0);
    }
    assert_int_equal(good, 3);
    assert_int_equal(bad, 1);
    assert_int_equal(d.good, 3);
    assert_int_equal(d.bad, 1);
}

static void a_length_beyond_all_is_passed_over(void **state)
{
    struct decoder d;
    struct reading r;
    (void)state;
    for (unsigned len = PROFILE_LINE_MAX; len < 256; len++) {
        decoder_reset(&d);
        assert_int_equal(decode_byte(&reports, &d, (uint8_t)len, 1, 0, &r), DECODE_TOO_LONG);
        for (unsigned i = 0; i < len; i++)
            assert_int_equal(decode_byte(&reports, &d, 6, 1, 0, &r), DECODE_MORE);
        for (unsigned i = 0; i < 6; i++)
            assert_int_equal(decode_byte(&reports, &d, (uint8_t) "\x06\x03\x04\x02\x00\x2C"[i], 1, 0, &r), DECODE_MORE);
        assert_int_equal(decode_byte(&reports, &d, 1, 1, 0, &r), DECODE_READING);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(example_reports),
        cmocka_unit_test(states_without_a_weight),
        cmocka_unit_test(every_unit),
        cmocka_unit_test(refused_reports),
        cmocka_unit_test(published_frames),
        cmocka_unit_test(what_an_answer_may_say),
        cmocka_unit_test(refused_answers),
        cmocka_unit_test(blocks_in_a_stream),
        cmocka_unit_test(a_length_beyond_all_is_passed_over),
    };
    return cmocka_run_group_tests_name("decode_block", tests, NULL, NULL);
}
