/* core/decode.c and core/decode_line.c: shapes of lines, cut-off and hostile ones. */
#include "core_test.h"

#include "core/decode.h"

#define G PG_PER_G
#define KG PG_PER_KG

/* "ST,GS,+  12.345kg": every field has its width. */
static const struct profile fixed = {
    .end_len = 2,
    .end = {'\r', '\n'},
    .decimal = '.',
    .field_count = 7,
    .fields = {{.kind = FIELD_STATUS, .width = 2},
               {.kind = FIELD_LITERAL, .len = 1, .text = ","},
               {.kind = FIELD_BASIS, .width = 2},
               {.kind = FIELD_LITERAL, .len = 1, .text = ","},
               {.kind = FIELD_SIGN},
               {.kind = FIELD_WEIGHT, .width = 8},
               {.kind = FIELD_UNIT, .width = 2}},
    .word_count = 9,
    .words = {{FIELD_STATUS, READING_STABLE, 2, "ST"},
              {FIELD_STATUS, READING_MOVING, 2, "US"},
              {FIELD_STATUS, READING_OVER, 2, "OL"},
              {FIELD_STATUS, READING_UNDER, 2, "UL"},
              {FIELD_BASIS, BASIS_GROSS, 2, "GS"},
              {FIELD_BASIS, BASIS_NET, 2, "NT"},
              {FIELD_UNIT, UNIT_KG, 2, "kg"},
              {FIELD_UNIT, UNIT_G, 1, "g"},
              {FIELD_UNIT, UNIT_LB, 2, "lb"}},
};

/* "  -0,50 g S": widths as they come. */
static const struct profile loose = {
    .end_len = 1,
    .end = {'\r'},
    .decimal = ',',
    .basis = BASIS_NET,
    .field_count = 5,
    .fields = {{.kind = FIELD_WEIGHT},
               {.kind = FIELD_BLANKS},
               {.kind = FIELD_UNIT},
               {.kind = FIELD_BLANKS},
               {.kind = FIELD_STATUS}},
    .word_count = 8,
    .words = {{FIELD_STATUS, READING_STABLE, 1, "S"},
              {FIELD_STATUS, READING_MOVING, 1, "D"},
              {FIELD_STATUS, READING_UNKNOWN, 0, ""},
              {FIELD_STATUS, READING_OVER, 3, "OVR"},
              {FIELD_STATUS, READING_FAULT, 3, "Err"},
              {FIELD_UNIT, UNIT_G, 1, "g"},
              {FIELD_UNIT, UNIT_GR, 2, "gr"},
              {FIELD_UNIT, UNIT_KG, 2, "kg"}},
};

/* STX, two status bytes, six digits with three of them decimals left out, ETX. */
static const struct profile implied = {
    .end_len = 1,
    .end = {'\x03'},
    .unit = UNIT_KG,
    .implied = 3,
    .decimal = '.',
    .basis = BASIS_GROSS,
    .field_count = 5,
    .fields = {{.kind = FIELD_LITERAL, .len = 1, .text = "\x02"},
               {.kind = FIELD_STATUS, .width = 1},
               {.kind = FIELD_STATUS, .width = 1},
               {.kind = FIELD_WEIGHT, .width = 6},
               {.kind = FIELD_SKIP, .width = 2}},
    .word_count = 5,
    .words = {{FIELD_STATUS, READING_STABLE, 1, " "},
              {FIELD_STATUS, READING_MOVING, 1, "M"},
              {FIELD_STATUS, READING_UNKNOWN, 1, "0"},
              {FIELD_STATUS, READING_OVER, 1, "1"},
              {FIELD_STATUS, READING_FAULT, 1, "E"}},
};

static enum decode_result line(const struct profile *p, const char *text, struct reading *out)
{
    size_t n = strlen(text);
    char *exact = memcpy(malloc(n + !n), text, n); /* the sanitizer sees a byte read behind it */
    enum decode_result result = decode_line(p, exact, (uint8_t)n, out);

    free(exact);
    return result;
}

static void assert_weight(const struct profile *p, const char *text, struct reading want)
{
    struct reading got;

    if (line(p, text, &got) != DECODE_READING)
        fail_msg("\"%s\" is refused", text);
    if (got.mass != want.mass || got.step != want.step || got.state != want.state || got.basis != want.basis ||
        got.unit != want.unit || got.places != want.places)
        fail_msg("\"%s\": %" PRId64 " step %" PRId64 " state %d basis %d unit %d places %d", text, got.mass, got.step,
                 got.state, got.basis, got.unit, got.places);
    assert_true(got.at == 0 && got.since == 0);
}

static void assert_state(const struct profile *p, const char *text, enum reading_state state)
{
    struct reading got;

    if (line(p, text, &got) != DECODE_READING || got.state != state)
        fail_msg("\"%s\" is not of state %d", text, state);
    assert_true(reading_has_weight(&got) == (state <= READING_MOVING));
}

static void assert_bad(const struct profile *p, const char *text)
{
    struct reading got = {.mass = -7};

    if (line(p, text, &got) != DECODE_BAD_LINE || got.mass != -7)
        fail_msg("\"%s\" is taken", text);
}

static void fixed_widths(void **state)
{
    struct reading kg = {
        .mass = 12345 * G, .step = G, .state = READING_STABLE, .basis = BASIS_GROSS, .unit = UNIT_KG, .places = 3};

    (void)state;
    assert_weight(&fixed, "ST,GS,+  12.345kg", kg);
    assert_weight(&fixed, "ST,GS,+0012.345kg", kg);
    assert_weight(&fixed, "ST,GS,   12.345kg", kg);
    kg.mass = -kg.mass;
    assert_weight(&fixed, "ST,GS,-  12.345kg", kg);
    assert_weight(&fixed, "ST,GS, - 12.345kg", kg); /* the weight may hold its own sign ... */
    assert_weight(&fixed, "ST,GS,  -12.345kg", kg);
    kg.state = READING_MOVING;
    kg.basis = BASIS_NET;
    assert_weight(&fixed, "US,NT, - 12.345kg", kg);
    assert_bad(&fixed, "ST,GS,+- 12.345kg"); /* ... but not two */
    assert_bad(&fixed, "ST,GS,-+ 12.345kg");
    assert_weight(&fixed, "ST,GS,+   340.5 g",
                  (struct reading){.mass = 340500 * PG_PER_MG,
                                   .step = G / 10,
                                   .state = READING_STABLE,
                                   .basis = BASIS_GROSS,
                                   .unit = UNIT_G,
                                   .places = 1});
    assert_weight(
        &fixed, "ST,GS,+     340g ",
        (struct reading){
            .mass = 340 * G, .step = G, .state = READING_STABLE, .basis = BASIS_GROSS, .unit = UNIT_G, .places = 0});
    assert_weight(&fixed, "ST,GS,+   2.205lb",
                  (struct reading){.mass = PG_PER_LB / 1000 * 2205,
                                   .step = PG_PER_LB / 1000,
                                   .state = READING_STABLE,
                                   .basis = BASIS_GROSS,
                                   .unit = UNIT_LB,
                                   .places = 3});
    assert_weight(
        &fixed, "ST,GS,-   0.000kg",
        (struct reading){
            .mass = 0, .step = G, .state = READING_STABLE, .basis = BASIS_GROSS, .unit = UNIT_KG, .places = 3});
    assert_weight(
        &fixed, "ST,GS,+    .500kg",
        (struct reading){
            .mass = 500 * G, .step = G, .state = READING_STABLE, .basis = BASIS_GROSS, .unit = UNIT_KG, .places = 3});
    assert_weight(
        &fixed, "ST,GS,+     12.kg",
        (struct reading){
            .mass = 12 * KG, .step = KG, .state = READING_STABLE, .basis = BASIS_GROSS, .unit = UNIT_KG, .places = 0});
}

static void fixed_widths_refused(void **state)
{
    static const char *const bad[] = {
        "",
        "ST,GS,+  12.345k", /* cut at the end */
        "ST,GS,+  12.345",
        "T,GS,+  12.345kg", /* cut at the front */
        ",GS,+  12.345kg",
        "GS,+  12.345kg",
        "+  12.345kg",
        "ST,GS,+  12.345kg ", /* something left over */
        "ST,GS,+  12.345kgx",
        "XX,GS,+  12.345kg", /* unknown words */
        "st,GS,+  12.345kg",
        "ST,XX,+  12.345kg",
        "ST;GS,+  12.345kg", /* another literal */
        "ST,GS,*  12.345kg", /* not a sign */
        "ST,GS,+  12,345kg", /* not this profile's decimal sign */
        "ST,GS,+  12.3.5kg",
        "ST,GS,+  12 345kg",
        "ST,GS,+12.345  kg", /* blanks behind */
        "ST,GS,+  1e.345kg",
        "ST,GS,+        kg",
        "ST,GS,+--------kg",
        "ST,GS,+       .kg",
        "ST,GS,+       -kg",
        "ST,GS,+  12.345k\x01",
        "ST,GS,+  12.345\x01g",
        "ST,GS,+  12.345k\x7f",
        "ST,GS,+  12.345\xff\xff",
    };

    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_bad(&fixed, bad[i]);
    assert_int_equal(decode_line(&fixed,
                                 "ST,GS,+  12\0"
                                 "345kg",
                                 17, &(struct reading){0}),
                     DECODE_BAD_LINE);
}

static void no_weight_needs_no_digits(void **state)
{
    (void)state;
    assert_state(&fixed, "OL,GS,+        kg", READING_OVER);
    assert_state(&fixed, "OL,GS,+--------kg", READING_OVER);
    assert_state(&fixed, "UL,NT,-  12.345kg", READING_UNDER);
    assert_state(&fixed, "OL,GS,         ?!", READING_OVER); /* its unit is of no matter */
    assert_bad(&fixed, "OL,GS,+       kg");                  /* but its shape is */
    assert_bad(&fixed, "ST,GS,+--------kg");
}

static void unknown_unit(void **state)
{
    struct reading got;

    (void)state;
    assert_state(&fixed, "ST,GS,+  12.345oz", READING_UNIT);
    assert_state(&fixed, "ST,GS,+  12.345KG", READING_UNIT);
    assert_state(&fixed, "ST,GS,+  12.345  ", READING_UNIT);
    assert_state(&fixed, "ST,GS,+  12.345 %", READING_UNIT);
    assert_state(&fixed, "ST,GS,+  12.345~~", READING_UNIT);
    assert_int_equal(line(&fixed, "ST,GS,+  12.345oz", &got), DECODE_READING);
    assert_true(got.mass == 0 && got.step == 0 && got.unit == UNIT_NONE);
    assert_state(&loose, "12,5 kgs S", READING_UNIT); /* not kg and something */
    assert_state(&loose, "12,5 gram S", READING_UNIT);
    assert_bad(&loose, "12,5 S\x01");
}

static void loose_widths(void **state)
{
    struct reading g = {.mass = -500 * PG_PER_MG,
                        .step = 10 * PG_PER_MG,
                        .state = READING_STABLE,
                        .basis = BASIS_NET,
                        .unit = UNIT_G,
                        .places = 2};
    struct reading gr = {
        .mass = 15 * PG_PER_GR, .step = PG_PER_GR, .state = READING_UNKNOWN, .basis = BASIS_NET, .unit = UNIT_GR};

    (void)state;
    assert_weight(&loose, "  -0,50 g S", g);
    assert_weight(&loose, "-   0,50g   S", g);
    assert_state(&loose, "-0,50gS", READING_UNIT); /* "gS": letters that are no unit */
    assert_weight(&loose, "15 gr", gr);            /* the longest word */
    assert_weight(&loose, "15gr  ", gr);
    gr.state = READING_MOVING;
    assert_weight(&loose, "\t15\tgr\tD", gr);
    assert_state(&loose, "OVR g S", READING_OVER); /* a status word in the weight's place */
    assert_state(&loose, "   Err g", READING_FAULT);
    assert_state(&loose, "  ------ g OVR", READING_OVER);
    assert_state(&loose, "         g OVR", READING_OVER);
    assert_bad(&loose, "  ------ g S");
    assert_bad(&loose, "         g S");
    assert_bad(&loose, "S g S");
    assert_bad(&loose, "12,50");
    assert_bad(&loose, "12,50 g X");
    assert_bad(&loose, "12,50 0,30 g S");
    assert_bad(&loose, "12,50- g S");
    assert_bad(&loose, "1,2,3 g S");
}

static void implied_decimals(void **state)
{
    struct reading r = {
        .mass = 12345 * G, .step = G, .state = READING_STABLE, .basis = BASIS_GROSS, .unit = UNIT_KG, .places = 3};

    (void)state;
    assert_weight(&implied, "\x02 0012345??", r);
    assert_weight(&implied, "\x02 0 12345\r\xff", r);
    r.mass = 5 * G;
    assert_weight(&implied, "\x02 0     5..", r);
    r.mass = -5 * G;
    assert_weight(&implied, "\x02 0-    5..", r);
    r.state = READING_MOVING;
    assert_weight(&implied, "\x02M0-00005..", r);
    assert_state(&implied, "\x02M1000005..", READING_OVER); /* the graver of two */
    assert_state(&implied,
                 "\x02"
                 "1M000005..",
                 READING_OVER);
    assert_state(&implied,
                 "\x02"
                 "1E      ..",
                 READING_FAULT);
    assert_bad(&implied, "\x02 012.345..");
    assert_bad(&implied, "\x03 0012345..");
}

/* What can't be held exactly is not a weight. */
static void too_large_or_too_fine(void **state)
{
    struct profile p = loose;
    struct reading got;

    (void)state;
    assert_bad(&loose, "9224 kg");
    assert_int_equal(line(&loose, "9223,372036854775 kg", &got), DECODE_READING);
    assert_int_equal(got.mass, INT64_C(9223372036854775000));
    assert_int_equal(got.step, 1000);
    assert_bad(&loose, "99999999999999999999999 g");
    assert_bad(&loose, "18446744073709551621 g"); /* 2^64 + 5 */
    assert_bad(&loose, "0,0000000000000001 kg");
    assert_bad(&loose, "0,00001 gr"); /* a grain has four places */
    assert_int_equal(line(&loose, "0,0001 gr", &got), DECODE_READING);
    assert_int_equal(line(&loose, "000000000000000000000000000000000001,5 g", &got), DECODE_READING);
    assert_int_equal(got.mass, 3 * G / 2);
    p.words[5].means = UNIT_OZ;
    assert_int_equal(line(&p, "1,125 g", &got), DECODE_READING);
    assert_int_equal(got.mass, PG_PER_OZ / 8 * 9);
    assert_bad(&p, "1,1250 g");
}

static void words_with_no_meaning(void **state)
{
    struct profile p = fixed;
    struct reading got;

    (void)state;
    p.words[0].means = READING_NOTYET + 1;
    assert_bad(&p, "ST,GS,+  12.345kg");
    p = fixed;
    p.words[4].means = BASIS_NET + 1;
    assert_bad(&p, "ST,GS,+  12.345kg");
    p = fixed;
    p.words[6].means = UNIT_GR + 1;
    assert_bad(&p, "ST,GS,+  12.345kg");
    p.words[6].means = UNIT_NONE; /* pieces, say: known not to be a mass */
    assert_state(&p, "ST,GS,+  12.345kg", READING_UNIT);
    p = fixed;
    p.fields[1].len = PROFILE_WORD + 1; /* longer than its text can be */
    assert_bad(&p, "ST,GS,+  12.345kg");
    p = fixed;
    p.fields[p.field_count++].kind = FIELD_LINE;
    assert_bad(&p, "ST,GS,+  12.345kg");
    p = fixed;
    p.field_count = 5; /* no weight anywhere */
    assert_bad(&p, "ST,GS,+");
    assert_state(&p, "OL,GS,+", READING_OVER);
    p = implied;
    p.unit = UNIT_NONE;
    assert_state(&p, "\x02 0012345??", READING_UNIT);
    p.field_count = 0;
    assert_int_equal(decode_line(&p, "", 0, &got), DECODE_BAD_LINE);
    p = loose; /* a status word of no weight that means nothing is not believed in the weight's place either */
    p.words[4].means = 99;
    assert_bad(&p, "   Err g");
}

static void only_the_words_that_count(void **state)
{
    struct profile p = fixed;

    (void)state;
    p.word_count--; /* lb */
    assert_state(&p, "ST,GS,+   2.205lb", READING_UNIT);
    p.words[2].means = READING_UNIT; /* counts pieces, say */
    assert_state(&p, "OL,GS,+  12.345kg", READING_UNIT);
    p = loose;
    p.word_count--; /* kg */
    assert_state(&p, "12,5 kg", READING_UNIT);
    p = loose;
    memcpy(p.words[7].text, "#:", 2); /* no letters */
    assert_state(&p, "12,5 #:", READING_UNKNOWN);
    assert_state(&p, "12,5 #: S", READING_STABLE);
}

/* A weight without width ends at the blank behind its digits, whatever comes then. */
static void another_number_behind(void **state)
{
    struct profile p = loose;
    struct reading got;

    (void)state;
    p.fields[1] = (struct profile_field){.kind = FIELD_SKIP, .width = 5};
    assert_int_equal(line(&p, "  12,50 0,30g S", &got), DECODE_READING);
    assert_int_equal(got.mass, 12500 * PG_PER_MG);
}

static void fixed_blanks(void **state)
{
    struct profile p = loose;
    struct reading got;

    (void)state;
    p.fields[1].width = 2;
    assert_int_equal(line(&p, "12,50  g S", &got), DECODE_READING);
    assert_bad(&p, "12,50 g S");
    assert_bad(&p, "12,50   g S");
    assert_bad(&p, "12,50 .g S");
}

/* ---- bytes into lines ---- */

static struct decoder d;
static struct reading reading;

/* The last byte's result; *readings counts those before it too. */
static enum decode_result feed(const struct profile *p, const char *bytes, size_t n, uint64_t at, unsigned *readings)
{
    enum decode_result r = DECODE_MORE;

    for (size_t i = 0; i < n; i++) {
        r = decode_byte(p, &d, (uint8_t)bytes[i], at + i, at - 1000, &reading);
        *readings += r == DECODE_READING;
    }
    return r;
}

static void a_line_has_its_times(void **state)
{
    unsigned n = 0;

    (void)state;
    decoder_reset(&d);
    assert_int_equal(decode_missing(&d), 0);
    assert_int_equal(feed(&fixed, "S", 1, 5000, &n), DECODE_MORE);
    assert_int_equal(feed(&fixed, "T,GS,+  12.", 11, 7000, &n), DECODE_MORE);
    assert_int_equal(decode_missing(&d), 0); /* no line was good yet */
    assert_int_equal(feed(&fixed, "345kg\r\n", 7, 9000, &n), DECODE_READING);
    assert_int_equal(reading.at, 9006);
    assert_int_equal(reading.since, 4000); /* of its first byte */
    assert_int_equal(decode_missing(&d), 0);
    assert_int_equal(feed(&fixed, "ST,GS", 5, 10000, &n), DECODE_MORE);
    assert_int_equal(decode_missing(&d), 14);
    assert_int_equal(feed(&fixed, "xxxxxxxxxxxxxxxxxx", 18, 11000, &n), DECODE_MORE);
    assert_int_equal(decode_missing(&d), 0); /* longer than usual */
    assert_int_equal(feed(&fixed, "\r\n", 2, 12000, &n), DECODE_BAD_LINE);
    assert_int_equal(n, 1);
    assert_int_equal(d.good, 1);
    assert_int_equal(d.bad, 1);
}

static void half_a_terminator_is_none(void **state)
{
    unsigned n = 0;

    (void)state;
    decoder_reset(&d);
    assert_int_equal(feed(&fixed, "ST,GS,+  12.345kg\r\r\n", 20, 1000, &n), DECODE_BAD_LINE);
    assert_int_equal(feed(&fixed, "\nST,GS,+  12.345kg\r\n", 20, 1000, &n), DECODE_BAD_LINE);
    assert_int_equal(feed(&fixed, "ST,GS,+  12.345kg\n\r\n", 20, 1000, &n), DECODE_BAD_LINE);
    assert_int_equal(feed(&fixed, "\r\n", 2, 1000, &n), DECODE_BAD_LINE);
    assert_int_equal(feed(&fixed, "ST,GS,+  12.345kg\r\n", 19, 1000, &n), DECODE_READING);
    assert_int_equal(n, 1);
    assert_int_equal(d.bad, 4);
}

/* From whichever byte reading begins: what is left of a line is never a weight. */
static void a_first_line_without_its_front(void **state)
{
    static const char text[] = "ST,GS,+  12.345kg\r\n", free_text[] = "  12,50 g S\r";

    (void)state;
    for (size_t cut = 1; cut < sizeof text - 1; cut++) {
        unsigned n = 0;

        decoder_reset(&d);
        feed(&fixed, text + cut, sizeof text - 1 - cut, 1000, &n);
        assert_int_equal(n, 0);
        feed(&fixed, text, sizeof text - 1, 2000, &n);
        assert_int_equal(n, cut == sizeof text - 2 ? 0 : 1); /* a lone \n makes the next line bad as well */
    }
    for (size_t cut = 0; cut < sizeof free_text - 1; cut++) {
        unsigned n = 0;

        decoder_reset(&d);
        assert_int_equal(feed(&loose, free_text + cut, sizeof free_text - 1 - cut, 1000, &n), DECODE_MORE);
        assert_int_equal(d.bad, 0);
        assert_int_equal(feed(&loose, free_text, sizeof free_text - 1, 2000, &n), DECODE_READING);
        assert_int_equal(reading.mass, 12500 * PG_PER_MG);
        assert_int_equal(n, 1);
    }
}

static void a_first_whole_line_of_fixed_length_counts(void **state)
{
    unsigned n = 0;

    (void)state;
    decoder_reset(&d);
    assert_int_equal(feed(&fixed, "ST,GS,+  12.345kg\r\n", 19, 1000, &n), DECODE_READING);
    decoder_reset(&d);
    assert_int_equal(feed(&implied, "\x02 0012345??\x03", 12, 1000, &n), DECODE_READING);
}

/* One field without width makes the whole line's length unknown, wherever it stands. */
static void one_loose_field_is_enough(void **state)
{
    struct profile p = {.end_len = 1,
                        .end = "\r",
                        .decimal = '.',
                        .unit = UNIT_KG,
                        .field_count = 2,
                        .fields = {{.kind = FIELD_WEIGHT}, {.kind = FIELD_LITERAL, .len = 2, .text = "kg"}}};
    unsigned n = 0;

    (void)state;
    decoder_reset(&d);
    assert_int_equal(feed(&p, "2.345kg\r", 8, 1000, &n), DECODE_MORE);
    assert_int_equal(feed(&p, "12.345kg\r", 9, 1000, &n), DECODE_READING);
    p.fields[0] = (struct profile_field){.kind = FIELD_LITERAL, .len = 1, .text = "W"};
    p.fields[1] = (struct profile_field){.kind = FIELD_WEIGHT};
    decoder_reset(&d);
    assert_int_equal(feed(&p, "W12.345\r", 8, 1000, &n), DECODE_MORE);
    assert_int_equal(feed(&p, "W12.345\r", 8, 1000, &n), DECODE_READING);
}

static void too_long_is_dropped_to_its_end(void **state)
{
    unsigned n = 0;

    (void)state;
    decoder_reset(&d);
    for (unsigned i = 1; i < 1000; i++) {
        char c = (char)('a' + i % 26);

        assert_int_equal(feed(&fixed, &c, 1, 1000, &n), i == PROFILE_LINE_MAX ? DECODE_TOO_LONG : DECODE_MORE);
        assert_int_equal(decode_missing(&d), 0);
    }
    assert_int_equal(d.bad, 1);
    assert_int_equal(feed(&fixed, "ST,GS,+  99.345kg\r", 18, 1000, &n), DECODE_MORE);
    assert_int_equal(feed(&fixed, "\n", 1, 1000, &n), DECODE_MORE);
    assert_int_equal(n, 0);
    assert_int_equal(feed(&fixed, "ST,GS,+  12.345kg\r\n", 19, 1000, &n), DECODE_READING);
    assert_int_equal(d.good, 1);
    assert_int_equal(d.bad, 1);
}

static void the_longest_line_fits(void **state)
{
    struct profile p = loose;
    char text[PROFILE_LINE_MAX + 1];
    unsigned n = 0;

    (void)state;
    memset(text, '0', sizeof text);
    memcpy(text + PROFILE_LINE_MAX - 5, "5,0g\r", 5);
    decoder_reset(&d);
    feed(&p, "\r", 1, 1000, &n);
    assert_int_equal(feed(&p, text, PROFILE_LINE_MAX, 1000, &n), DECODE_READING);
    assert_int_equal(reading.mass, 5 * G);
    memcpy(text + PROFILE_LINE_MAX - 5, "05,0g", 5);
    text[PROFILE_LINE_MAX] = '\r';
    assert_int_equal(feed(&p, text, PROFILE_LINE_MAX, 1000, &n), DECODE_TOO_LONG);
    assert_int_equal(feed(&p, "\r", 1, 1000, &n), DECODE_MORE);
    p.end_len = 0; /* no line ever ends */
    decoder_reset(&d);
    feed(&p, text, sizeof text, 1000, &n);
    assert_int_equal(d.bad, 1);
    assert_int_equal(n, 1);
}

/* Any weight, written as this scale writes it, comes back to the picogram. */
static void any_weight_comes_back(void **state)
{
    uint64_t seed = 1;

    (void)state;
    for (int i = 0; i < 30000; i++) {
        int64_t thousandths = (int64_t)chance_below(&seed, 10000000);
        bool negative = chance(&seed) & 1;
        char text[40];
        struct reading want = {.mass = (negative ? -1 : 1) * thousandths * (PG_PER_LB / 1000),
                               .step = PG_PER_LB / 1000,
                               .state = READING_MOVING,
                               .basis = BASIS_NET,
                               .unit = UNIT_LB,
                               .places = 3};

        snprintf(text, sizeof text, "US,NT,%c%4" PRId64 ".%03" PRId64 "lb", negative ? '-' : '+', thousandths / 1000,
                 thousandths % 1000);
        assert_weight(&fixed, text, want);
        want = (struct reading){.mass = (negative ? -1 : 1) * (thousandths % 100000) * G,
                                .step = G,
                                .state = READING_STABLE,
                                .basis = BASIS_GROSS,
                                .unit = UNIT_KG,
                                .places = 3};
        snprintf(text, sizeof text, "\x02 0%c%05" PRId64 "ab", negative ? '-' : ' ', thousandths % 100000);
        assert_weight(&implied, text, want);
    }
}

/* One byte of a good line changed, lost or doubled: a fixed shape either refuses it or has the same length and a digit,
 * sign or word that stands for itself. A lost or doubled byte is always refused. */
static void damage_to_a_fixed_shape(void **state)
{
    static const char text[] = "ST,GS,+  12.345kg";
    char hurt[32];

    (void)state;
    for (size_t i = 0; i < sizeof text - 1; i++) {
        memcpy(hurt, text, i);
        memcpy(hurt + i, text + i + 1, sizeof text - i - 1);
        assert_bad(&fixed, hurt);
        memcpy(hurt, text, i + 1);
        memcpy(hurt + i + 1, text + i, sizeof text - i);
        assert_bad(&fixed, hurt);
    }
}

/* Random profiles and bytes: nothing but the three results, bounded counters, and what is called a weight is one. */
static void hostile_bytes(void **state)
{
    static const char alphabet[] = "ST,GS+- 0123456789.kglbUOLNT\r\n\x02\x03\xff\x00";
    uint64_t seed = 77;

    (void)state;
    for (int round = 0; round < 300; round++) {
        struct profile p = round % 3 == 0 ? fixed : round % 3 == 1 ? loose : implied;

        if (round > 30) { /* shuffled fields, any widths */
            p.field_count = (uint8_t)chance_below(&seed, PROFILE_FIELDS + 1);
            for (unsigned i = 0; i < p.field_count; i++)
                p.fields[i] = (struct profile_field){.kind = (uint8_t)chance_below(&seed, FIELD_LINE + 2),
                                                     .width = (uint8_t)chance_below(&seed, 5),
                                                     .len = (uint8_t)chance_below(&seed, 3),
                                                     .digits = (uint8_t)chance_below(&seed, 4),
                                                     .text = "+ "};
            p.length = (uint8_t)(chance(&seed) & 1 ? chance_below(&seed, 256) : 0);
            p.minus = (uint8_t)chance_below(&seed, 4);
            p.check = (struct profile_check){(uint8_t)chance_below(&seed, 7), (uint8_t)chance_below(&seed, 17),
                                             (uint8_t)chance_below(&seed, 4), chance(&seed) & 1, chance(&seed) & 1};
            p.bit_count = (uint8_t)chance_below(&seed, PROFILE_BITS + 1);
            for (unsigned i = 0; i < p.bit_count; i++)
                p.named[i] = (struct profile_bit){(uint8_t)chance_below(&seed, 3), (uint8_t)chance(&seed),
                                                  (uint8_t)chance(&seed), (uint8_t)chance_below(&seed, 9),
                                                  (uint8_t)chance_below(&seed, 9)};
        }
        decoder_reset(&d);
        for (int i = 0; i < 2000; i++) {
            uint8_t byte =
                (uint8_t)(chance(&seed) & 7 ? alphabet[chance_below(&seed, sizeof alphabet - 1)] : (char)chance(&seed));
            enum decode_result r = decode_byte(&p, &d, byte, (uint64_t)i + 1, (uint64_t)i, &reading);

            assert_true(r >= DECODE_MORE && r <= DECODE_TOO_LONG);
            assert_true(d.len < PROFILE_LINE_MAX || d.dropping);
            assert_true(r != DECODE_READING || !reading_has_weight(&reading) ||
                        (reading.step > 0 && reading.mass % reading.step == 0 && reading.unit != UNIT_NONE));
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fixed_widths),
        cmocka_unit_test(fixed_widths_refused),
        cmocka_unit_test(no_weight_needs_no_digits),
        cmocka_unit_test(unknown_unit),
        cmocka_unit_test(loose_widths),
        cmocka_unit_test(implied_decimals),
        cmocka_unit_test(too_large_or_too_fine),
        cmocka_unit_test(words_with_no_meaning),
        cmocka_unit_test(only_the_words_that_count),
        cmocka_unit_test(another_number_behind),
        cmocka_unit_test(fixed_blanks),
        cmocka_unit_test(a_line_has_its_times),
        cmocka_unit_test(half_a_terminator_is_none),
        cmocka_unit_test(a_first_line_without_its_front),
        cmocka_unit_test(a_first_whole_line_of_fixed_length_counts),
        cmocka_unit_test(one_loose_field_is_enough),
        cmocka_unit_test(too_long_is_dropped_to_its_end),
        cmocka_unit_test(the_longest_line_fits),
        cmocka_unit_test(any_weight_comes_back),
        cmocka_unit_test(damage_to_a_fixed_shape),
        cmocka_unit_test(hostile_bytes),
    };
    return cmocka_run_group_tests_name("decode", tests, NULL, NULL);
}
