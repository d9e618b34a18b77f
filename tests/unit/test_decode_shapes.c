/* The grammar of profiles, one feature after another: what each takes and, more of it, what each refuses. Lines and frames
 * are written by hand. */
#include "core_test.h"

#include "core/decode.h"

#define G PG_PER_G
#define LITERAL(t)                                                                                                     \
    {                                                                                                                  \
        .kind = FIELD_LITERAL, .len = sizeof t - 1, .text = t                                                          \
    }
#define FIELD(k, w)                                                                                                    \
    {                                                                                                                  \
        .kind = FIELD_##k, .width = w                                                                                  \
    }

static const struct profile plain = {
    .end_len = 1, .end = "\r", .decimal = '.', .unit = UNIT_KG, .field_count = 1, .fields = {FIELD(WEIGHT, 8)}};

static enum decode_result read_line(const struct profile *p, const char *bytes, size_t n, struct reading *out)
{
    char *exact = memcpy(malloc(n + !n), bytes, n); /* the sanitizer sees a byte read behind it */
    enum decode_result result = decode_line(p, exact, (uint8_t)n, out);
    free(exact);
    return result;
}

static void takes(const struct profile *p, const char *text, mass_pg mass)
{
    struct reading r = {0};
    if (read_line(p, text, strlen(text), &r) != DECODE_READING || !reading_has_weight(&r))
        fail_msg("\"%s\" is refused", text);
    if (r.mass != mass)
        fail_msg("\"%s\" is %" PRId64, text, r.mass);
}

static void refuses(const struct profile *p, const char *text)
{
    struct reading r;
    if (read_line(p, text, strlen(text), &r) != DECODE_BAD_LINE)
        fail_msg("\"%s\" is taken", text);
}

static void says(const struct profile *p, const char *text, enum reading_state state)
{
    struct reading r = {0};
    if (read_line(p, text, strlen(text), &r) != DECODE_READING || r.state != state)
        fail_msg("\"%s\" is not of state %d but %d", text, state, r.state);
}

static void a_minus_behind(void **state)
{
    struct profile p = plain;
    (void)state;
    p.minus = MINUS_AFTER;
    takes(&p, "  1.235-", -1235 * G);
    takes(&p, "  1.235+", 1235 * G);
    takes(&p, "  1.235 ", 1235 * G);
    takes(&p, "   1.235", 1235 * G);
    refuses(&p, " - 1.235");
    refuses(&p, "-1.235- ");
    refuses(&p, "1.235-- ");
    refuses(&p, "1.235 - ");
    refuses(&p, "       -");
    p.fields[0].width = 0;
    takes(&p, "1.235-", -1235 * G);
    takes(&p, "1.235", 1235 * G);
    refuses(&p, "1.235-1");
    refuses(&p, "-");
}

static void a_minus_as_brackets(void **state)
{
    struct profile p = plain;
    (void)state;
    p.minus = MINUS_BRACKETS;
    takes(&p, " (1.235)", -1235 * G);
    takes(&p, "( 1.235)", -1235 * G);
    takes(&p, "  1.235 ", 1235 * G);
    refuses(&p, " (1.235 ");
    refuses(&p, "  1.235)");
    refuses(&p, "((1.235)");
    refuses(&p, " -1.235 ");
    refuses(&p, "      ()");
    p.fields[0].width = 0;
    takes(&p, "(1.235)", -1235 * G);
    takes(&p, " 1.235", 1235 * G);
    refuses(&p, "(1.235");
    p.minus = MINUS_BEFORE;
    refuses(&p, "(1.235)");
}

static void zeros_that_must_stand(void **state)
{
    struct profile p = plain;
    (void)state;
    p.zeros = true;
    takes(&p, "0001.235", 1235 * G);
    takes(&p, "-001.235", -1235 * G);
    refuses(&p, "   1.235");
    refuses(&p, " 001.235");
}

static const struct profile signs = {
    .end_len = 1,
    .end = "\r",
    .decimal = '.',
    .unit = UNIT_KG,
    .field_count = 3,
    .fields = {FIELD(WEIGHT, 6), LITERAL(" "), FIELD(SIGN, 3)},
    .word_count = 3,
    .words = {{FIELD_SIGN, 0, 3, "pos"}, {FIELD_SIGN, 1, 3, "neg"}, {FIELD_SIGN, 1, 2, "MI"}},
};

static void a_sign_in_words_behind(void **state)
{
    struct profile p = signs;
    (void)state;
    takes(&p, " 1.235 pos", 1235 * G);
    takes(&p, " 1.235 neg", -1235 * G);
    takes(&p, " 1.235 MI ", -1235 * G);
    refuses(&p, " 1.235 +  ");
    refuses(&p, " 1.235    ");
    refuses(&p, "-1.235 neg"); /* two signs */
    refuses(&p, "-1.235 pos");
    p.fields[2].width = 0;
    takes(&p, " 1.235 neg", -1235 * G);
    refuses(&p, " 1.235 ne");
    refuses(&p, " 1.235 ");
}

static const struct profile pounds = {
    .end_len = 1,
    .end = "\r",
    .decimal = '.',
    .unit = UNIT_LB,
    .field_count = 5,
    .fields = {FIELD(SIGN, 0), FIELD(WEIGHT, 3), LITERAL(" lb "), FIELD(OUNCES, 4), LITERAL(" oz")},
};

static void pounds_and_ounces(void **state)
{
    struct profile p = pounds;
    struct reading r;
    (void)state;
    takes(&p, "+  3 lb  4.5 oz", 3 * PG_PER_LB + PG_PER_OZ / 2 * 9);
    takes(&p, "-  3 lb  4.5 oz", -3 * PG_PER_LB - PG_PER_OZ / 2 * 9);
    takes(&p, "+  0 lb 15.9 oz", PG_PER_OZ / 10 * 159);
    assert_int_equal(read_line(&p, "+  3 lb  4.5 oz", 15, &r), DECODE_READING);
    assert_int_equal(r.unit, UNIT_OZ);
    assert_int_equal(r.places, 1);
    assert_int_equal(r.step, PG_PER_OZ / 10);
    refuses(&p, "+  3 lb 16.0 oz"); /* a pound more */
    refuses(&p, "+3.1 lb  4.5 oz");
    refuses(&p, "+  3 lb -4.5 oz");
    refuses(&p, "+  3 lb      oz");
    refuses(&p, "+    lb  4.5 oz");
    refuses(&p, "+  3 lb .1234 oz");
    p.fields[3].width = 0;
    takes(&p, "+  3 lb 4.125 oz", 3 * PG_PER_LB + PG_PER_OZ / 8 * 33);
    refuses(&p, "+  3 lb 4.1250 oz"); /* an ounce has three places */
    refuses(&p, "+  3 lb 4.0000000000000000000 oz");
    p.unit = UNIT_KG;
    refuses(&p, "+  3 lb 4.5 oz");
}

static void other_figures_of_the_line(void **state)
{
    static const struct profile p = {
        .end_len = 1,
        .end = "\r",
        .decimal = '.',
        .unit = UNIT_KG,
        .field_count = 6,
        .fields = {LITERAL("G"), FIELD(NUMBER, 7), LITERAL("T"), FIELD(NUMBER, 7), LITERAL("N"), FIELD(WEIGHT, 7)},
        .word_count = 1,
        .words = {{FIELD_STATUS, READING_OVER, 2, "OL"}},
    };
    (void)state;
    takes(&p, "G  3.000T  1.765N  1.235", 1235 * G);
    takes(&p, "G  3.000T       N  1.235", 1235 * G);
    takes(&p, "G -3.000T  1.765N -1.235", -1235 * G);
    refuses(&p, "G  3.0x0T  1.765N  1.235"); /* what is not taken must be right too */
    refuses(&p, "G  3.000T 1.7.65N  1.235");
    refuses(&p, "G  3.000T  1.765N       ");
    says(&p, "G ------T ------N     OL", READING_OVER);
}

static void packed_digits(void **state)
{
    struct profile p = plain;
    struct reading r;
    (void)state;
    p.implied = 3;
    p.fields[0] = (struct profile_field){.kind = FIELD_WEIGHT, .width = 3, .digits = FIGURE_PACKED};
    takes(&p, "\x01\x23\x45", 12345 * G);
    assert_int_equal(read_line(&p, "\x00\x12\x35", 3, &r), DECODE_READING);
    assert_int_equal(r.mass, 1235 * G);
    assert_int_equal(r.places, 3);
    refuses(&p, "\x01\x2a\x45"); /* no digits */
    refuses(&p, "\x01\xa2\x45");
    refuses(&p, "\xf1\x12\x45");
    p.fields[0].digits |= FIGURE_REVERSED;
    takes(&p, "\x45\x23\x01", 12345 * G); /* bytes are turned round, not halves of bytes */
    p.fields[0].width = 40;               /* more digits than any line has room for */
    assert_int_equal(read_line(&p, "1111111111111111111111111111111111111111", 40, &r), DECODE_BAD_LINE);
}

static void reversed_digits(void **state)
{
    struct profile p = plain;
    (void)state;
    p.fields[0].digits = FIGURE_REVERSED;
    takes(&p, "532.1   ", 1235 * G);
    takes(&p, "532.1000", 1235 * G);
    takes(&p, "532.1-  ", -1235 * G);
    takes(&p, "532.1  -", -1235 * G);
    refuses(&p, "   532.1");
    refuses(&p, "-532.1  ");
}

/* Two bytes of bits and three packed ones. */
static const struct profile bits = {
    .length = 6,
    .end_len = 1,
    .end = "\n",
    .decimal = '.',
    .implied = PLACES_IN_BITS,
    .field_count = 3,
    .fields = {FIELD(BITS, 1), FIELD(BITS, 1), {.kind = FIELD_WEIGHT, .width = 3, .digits = FIGURE_PACKED}},
    .bit_count = 12,
    .named = {{0, 0xC0, 0x40, FIELD_LITERAL, 0},
              {0, 0x01, 0x01, FIELD_STATUS, READING_MOVING},
              {0, 0x01, 0x00, FIELD_STATUS, READING_STABLE},
              {0, 0x02, 0x02, FIELD_SIGN, 1},
              {0, 0x04, 0x04, FIELD_STATUS, READING_OVER},
              {0, 0x08, 0x00, FIELD_BASIS, BASIS_GROSS},
              {0, 0x08, 0x08, FIELD_BASIS, BASIS_NET},
              {1, 0x0C, 0x04, FIELD_UNIT, UNIT_KG},
              {1, 0x0C, 0x08, FIELD_UNIT, UNIT_LB},
              {1, 0x03, 0x01, FIELD_WEIGHT, 1},
              {1, 0x03, 0x03, FIELD_WEIGHT, 3},
              {0, 0x10, 0x10, FIELD_STATUS, READING_NOTYET}},
};

static struct reading of_bits(const char *frame)
{
    struct reading r = {0};
    assert_int_equal(read_line(&bits, frame, 5, &r), DECODE_READING);
    return r;
}

static void named_bits(void **state)
{
    struct reading r;
    (void)state;
    r = of_bits("\x40\x07\x01\x23\x45");
    assert_true(r.state == READING_STABLE && r.basis == BASIS_GROSS && r.unit == UNIT_KG && r.places == 3);
    assert_int_equal(r.mass, 12345 * G);
    r = of_bits("\x4b\x09\x01\x23\x45");
    assert_true(r.state == READING_MOVING && r.basis == BASIS_NET && r.unit == UNIT_LB && r.places == 1);
    assert_int_equal(r.mass, -12345 * (PG_PER_LB / 10));
    assert_int_equal(of_bits("\x45\x07\x01\x23\x45").state, READING_OVER);
    assert_int_equal(of_bits("\x50\x07\x01\x23\x45").state, READING_NOTYET);
    assert_int_equal(of_bits("\x40\x03\x01\x23\x45").state, READING_UNIT);              /* neither unit */
    assert_int_equal(read_line(&bits, "\x00\x07\x01\x23\x45", 5, &r), DECODE_BAD_LINE); /* what is always so is not */
    assert_int_equal(read_line(&bits, "\xc0\x07\x01\x23\x45", 5, &r), DECODE_BAD_LINE);
    assert_int_equal(read_line(&bits, "\x40\x06\x00\x12\x35", 5, &r),
                     DECODE_BAD_LINE); /* decimals that nothing tells */
}

static const struct profile summed = {
    .end_len = 1,
    .end = "\r",
    .decimal = '.',
    .unit = UNIT_KG,
    .check = {.method = SUM_PLAIN, .bits = 8},
    .field_count = 6,
    .fields = {LITERAL("*"), FIELD(OPEN, 0), FIELD(WEIGHT, 6), FIELD(CLOSE, 0), LITERAL("/"), FIELD(CHECK, 2)},
};

/* " 1.235" is 20 31 2E 32 33 35, added up 0x119. */
static void a_check_sum_must_match(void **state)
{
    struct profile p = summed;
    (void)state;
    takes(&p, "* 1.235/19", 1235 * G);
    refuses(&p, "* 1.234/19");
    refuses(&p, "* 1.235/18");
    refuses(&p, "* 1.235/1");
    refuses(&p, "* 1.235/");
    p.fields[1] = p.fields[3] = (struct profile_field)FIELD(SKIP, 0); /* from the first byte on: 2A and 2F more */
    takes(&p, "* 1.235/72", 1235 * G);
    refuses(&p, "* 1.235/19");
    p = summed;
    p.fields[3] = summed.fields[1]; /* over nothing */
    p.fields[1] = (struct profile_field)FIELD(SKIP, 0);
    p.fields[4] = (struct profile_field)FIELD(SKIP, 0);
    refuses(&p, "* 1.23500");
    p = summed;
    p.check.method = SUM_NONE;
    refuses(&p, "* 1.235/19");
}

static void whole_lines_that_say_no_weight(void **state)
{
    struct profile p = plain;
    (void)state;
    p.word_count = 4;
    p.words[0] = (struct profile_word){FIELD_LINE, READING_OVER, 8, "OVERLOAD"};
    p.words[1] = (struct profile_word){FIELD_LINE, READING_NOTYET, 4, "WAIT"};
    p.words[2] =
        (struct profile_word){FIELD_LINE, READING_STABLE, 2, "OK"}; /* says nothing of no weight: not believed */
    p.words[3] = (struct profile_word){FIELD_LINE, READING_NOTYET + 1, 3, "ODD"};
    says(&p, "OVERLOAD", READING_OVER);
    says(&p, "  WAIT ", READING_NOTYET);
    refuses(&p, "WAITS");
    refuses(&p, "OK");
    refuses(&p, "ODD");
    refuses(&p, "OVERLOA");
    takes(&p, "   1.235", 1235 * G);
}

/* ---- frames told by their length ---- */

static const struct profile counted = {
    .length = 8,
    .decimal = '.',
    .unit = UNIT_KG,
    .field_count = 2,
    .fields = {LITERAL("="), FIELD(WEIGHT, 7)},
};

static struct decoder d;

static unsigned feed(const struct profile *p, const char *bytes, size_t n, mass_pg *mass)
{
    unsigned readings = 0;
    for (size_t i = 0; i < n; i++) {
        struct reading r;
        if (decode_byte(p, &d, (uint8_t)bytes[i], 1000 + i, 900, &r) != DECODE_READING)
            continue;
        readings++;
        *mass = r.mass;
        assert_int_equal(r.at, 1000 + i);
        assert_int_equal(r.since, 900);
    }
    return readings;
}

static void frames_without_an_end(void **state)
{
    mass_pg mass = 0;
    (void)state;
    decoder_reset(&d);
    assert_int_equal(feed(&counted, "=  1.235=  1.240", 16, &mass), 2);
    assert_int_equal(mass, 1240 * G);
    assert_int_equal(d.good, 2);
    assert_int_equal(d.bad, 0);
    assert_int_equal(decode_missing(&d), 0);
    feed(&counted, "=  ", 3, &mass);
    assert_int_equal(decode_missing(&d), 5);
}

/* From any byte of a frame on, after any garbage, the first whole frame behind it is read. */
static void frames_are_found_again(void **state)
{
    static const char frame[] = "=  1.235";
    uint64_t seed = 5;
    mass_pg mass = 0;
    (void)state;
    for (size_t cut = 1; cut < 8; cut++) {
        decoder_reset(&d);
        assert_int_equal(feed(&counted, frame + cut, 8 - cut, &mass), 0);
        assert_int_equal(feed(&counted, frame, 8, &mass), 1);
        assert_int_equal(mass, 1235 * G);
        assert_int_equal(feed(&counted, frame, cut, &mass), 0); /* and one of which the end is lost */
        assert_int_equal(feed(&counted, frame, 8, &mass), 1);
    }
    for (int round = 0; round < 3000; round++) {
        unsigned n = (unsigned)chance_below(&seed, 100);
        for (unsigned i = 0; i < n; i++) {
            char c = chance(&seed) & 1 ? '=' : (char)chance(&seed);
            feed(&counted, &c, 1, &mass);
            assert_true(d.len < 8);
        }
        assert_true(feed(&counted, frame, 8, &mass) <= 1);
        assert_int_equal(feed(&counted, frame, 8, &mass), 1);
        assert_int_equal(mass, 1235 * G);
    }
}

/* What is lost is said once for a length of it, not once a byte. */
static void lost_bytes_are_said_in_lengths(void **state)
{
    struct reading r;
    unsigned said = 0;
    (void)state;
    decoder_reset(&d);
    for (int i = 0; i < 800; i++)
        said += decode_byte(&counted, &d, 'x', 1, 1, &r) == DECODE_BAD_LINE;
    assert_in_range(said, 95, 105);
    assert_int_equal(d.bad, said);
}

static void a_counted_frame_needs_its_end(void **state)
{
    struct profile p = counted;
    mass_pg mass = 0;
    (void)state;
    p.length = 9;
    p.end_len = 1;
    p.end[0] = '\r';
    decoder_reset(&d);
    assert_int_equal(feed(&p, "=  1.235\r", 9, &mass), 1);
    assert_int_equal(feed(&p, "=  1.235\n=  1.240\r", 18, &mass), 1);
    assert_int_equal(mass, 1240 * G);
}

static void the_length_of_a_line(void **state)
{
    struct profile p = counted;
    (void)state;
    assert_int_equal(decode_line_length(&p), 8);
    assert_int_equal(decode_line_length(&summed), 10);
    assert_int_equal(decode_line_length(&bits), 5);
    assert_int_equal(decode_line_length(&pounds), 15);
    p.fields[1].width = 0;
    assert_int_equal(decode_line_length(&p), 0);
    p = signs;
    assert_int_equal(decode_line_length(&p), 10);
    p.fields[2].width = 0;
    assert_int_equal(decode_line_length(&p), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_minus_behind),
        cmocka_unit_test(a_minus_as_brackets),
        cmocka_unit_test(zeros_that_must_stand),
        cmocka_unit_test(a_sign_in_words_behind),
        cmocka_unit_test(pounds_and_ounces),
        cmocka_unit_test(other_figures_of_the_line),
        cmocka_unit_test(packed_digits),
        cmocka_unit_test(reversed_digits),
        cmocka_unit_test(named_bits),
        cmocka_unit_test(a_check_sum_must_match),
        cmocka_unit_test(whole_lines_that_say_no_weight),
        cmocka_unit_test(frames_without_an_end),
        cmocka_unit_test(frames_are_found_again),
        cmocka_unit_test(lost_bytes_are_said_in_lengths),
        cmocka_unit_test(a_counted_frame_needs_its_end),
        cmocka_unit_test(the_length_of_a_line),
    };
    return cmocka_run_group_tests_name("decode shapes", tests, NULL, NULL);
}
