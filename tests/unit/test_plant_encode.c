/* Encode is the inverse of core's decode, over line shapes of several kinds. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include <glob.h>

#include "core/decode.h"
#include "files/files.h"
#include "plant/encode.h"
#include "plant/plant.h"

#define FIELD(k, w)                                                                                                    \
    {                                                                                                                  \
        .kind = FIELD_##k, .width = w                                                                                  \
    }
#define LITERAL(t)                                                                                                     \
    {                                                                                                                  \
        .kind = FIELD_LITERAL, .len = sizeof t - 1, .text = t                                                          \
    }
#define WORD(k, m, t)                                                                                                  \
    {                                                                                                                  \
        .kind = FIELD_##k, .means = m, .len = sizeof t - 1, .text = t                                                  \
    }

/* Status, basis, sign, figure and unit, each in its own columns. */
static const struct profile columns = {
    .name = "columns",
    .baud = 9600,
    .bits = 8,
    .stop = 1,
    .end_len = 2,
    .end = "\r\n",
    .decimal = '.',
    .has_motion = true,
    .field_count = 7,
    .word_count = 9,
    .fields = {FIELD(STATUS, 2), LITERAL(","), FIELD(BASIS, 2), LITERAL(","), FIELD(SIGN, 0), FIELD(WEIGHT, 8),
               FIELD(UNIT, 3)},
    .words = {WORD(STATUS, READING_STABLE, "ST"), WORD(STATUS, READING_MOVING, "US"), WORD(STATUS, READING_OVER, "OL"),
              WORD(STATUS, READING_UNDER, "UL"), WORD(BASIS, BASIS_GROSS, "GS"), WORD(BASIS, BASIS_NET, "NT"),
              WORD(UNIT, UNIT_KG, "kg"), WORD(UNIT, UNIT_LB, "lb"), WORD(UNIT, UNIT_G, "g")},
};

/* Only a figure as wide as it is, its own sign, a decimal comma and a unit; the state stands in the figure's place. */
static const struct profile loose = {
    .name = "loose",
    .baud = 4800,
    .bits = 7,
    .stop = 1,
    .parity = PARITY_EVEN,
    .end_len = 1,
    .end = "\r",
    .decimal = ',',
    .field_count = 4,
    .word_count = 2,
    .fields = {LITERAL("\x02"), FIELD(WEIGHT, 0), FIELD(BLANKS, 0), FIELD(UNIT, 0)},
    .words = {WORD(UNIT, UNIT_G, "g"), WORD(STATUS, READING_OVER, "HHH")},
};

/* Six digits without a decimal sign, a fixed unit, no word for anything. */
static const struct profile digits = {
    .name = "digits",
    .baud = 1200,
    .bits = 8,
    .stop = 1,
    .end_len = 1,
    .end = "\n",
    .decimal = '.',
    .unit = UNIT_KG,
    .implied = 3,
    .basis = BASIS_GROSS,
    .field_count = 3,
    .fields = {FIELD(SKIP, 2), FIELD(WEIGHT, 6), LITERAL("=")},
};

/* One byte of status; what it can't say stands in the figure's place. */
static const struct profile mixed = {
    .name = "mixed",
    .baud = 4800,
    .bits = 7,
    .stop = 1,
    .parity = PARITY_EVEN,
    .end_len = 1,
    .end = "\r",
    .decimal = ',',
    .unit = UNIT_G,
    .basis = BASIS_GROSS,
    .has_motion = true,
    .field_count = 4,
    .word_count = 5,
    .fields = {FIELD(SIGN, 0), FIELD(WEIGHT, 8), LITERAL(" g"), FIELD(STATUS, 1)},
    .words = {WORD(STATUS, READING_STABLE, " "), WORD(STATUS, READING_MOVING, "M"), WORD(STATUS, READING_FAULT, "E"),
              WORD(STATUS, READING_OVER, "--------"), WORD(STATUS, READING_UNDER, "________")},
};

static struct reading reading(mass_pg mass, enum mass_unit unit, uint8_t places, enum reading_state state)
{
    struct reading r = {.mass = mass, .unit = (uint8_t)unit, .places = places, .state = (uint8_t)state};
    r.basis = BASIS_GROSS;
    return r;
}

static void assert_line(const struct profile *p, struct reading r, const char *expected)
{
    char line[PROFILE_LINE_MAX + 1];
    uint8_t n = encode_line(p, &r, line);
    line[n] = 0;
    assert_string_equal(line, expected);
}

static void writes_the_shapes(void **state)
{
    (void)state;
    assert_line(&columns, reading(1234 * PG_PER_G, UNIT_KG, 3, READING_STABLE), "ST,GS,+   1.234kg \r\n");
    assert_line(&columns, reading(-1234 * PG_PER_G, UNIT_KG, 3, READING_MOVING), "US,GS,-   1.234kg \r\n");
    assert_line(&columns, reading(0, UNIT_G, 0, READING_STABLE), "ST,GS,+       0g  \r\n");
    assert_line(&columns, reading(1234, UNIT_KG, 3, READING_OVER), "OL,GS,         kg \r\n");
    assert_line(&loose, reading(-50 * PG_PER_G / 100, UNIT_G, 2, READING_STABLE), "\x02-0,50 g\r");
    assert_line(&loose, reading(60012 * PG_PER_G / 100, UNIT_G, 2, READING_MOVING),
                "\x02"
                "600,12 g\r");
    assert_line(&loose, reading(1, UNIT_G, 2, READING_OVER), "\x02HHH g\r");
    assert_line(&mixed, reading(12345 * PG_PER_G / 100, UNIT_G, 2, READING_STABLE), "+  123,45 g \r");
    assert_line(&mixed, reading(0, UNIT_G, 2, READING_OVER), " -------- g \r");
    assert_line(&mixed, reading(0, UNIT_G, 2, READING_FAULT), "          gE\r");
    assert_line(&digits, reading(1234 * PG_PER_G, UNIT_KG, 3, READING_STABLE), "    1234=\n");
    assert_line(&digits, reading(-1200 * PG_PER_G, UNIT_KG, 2, READING_STABLE), "   -1200=\n");
}

static void says_nothing_where_it_has_no_words(void **state)
{
    (void)state;
    assert_line(&columns, reading(0, UNIT_KG, 3, READING_FAULT), "");
    assert_line(&columns, reading(0, UNIT_OZ, 3, READING_STABLE), "");
    assert_line(&digits, reading(0, UNIT_KG, 3, READING_OVER), "");
    assert_line(&digits, reading(0, UNIT_LB, 3, READING_STABLE), "");
    assert_line(&digits, reading(1000 * PG_PER_KG, UNIT_KG, 3, READING_STABLE), "");  /* seven digits */
    assert_line(&digits, reading(-100 * PG_PER_KG, UNIT_KG, 3, READING_STABLE), "");  /* six and the sign */
    assert_line(&digits, reading(PG_PER_G / 10, UNIT_KG, 4, READING_STABLE), "");     /* a fourth decimal */
    assert_line(&columns, reading(9000 * PG_PER_KG, UNIT_KG, 5, READING_STABLE), ""); /* 9000.00000 */
}

static void an_over_long_line_is_no_line(void **state)
{
    (void)state;
    struct profile p = loose;
    p.fields[2].width = PROFILE_LINE_MAX;
    assert_line(&p, reading(0, UNIT_G, 2, READING_STABLE), "");
}

/* Random figures, states and units: what comes back is what was shown, as far as the line can say it. */
static void comes_back_through_decode(void **state)
{
    (void)state;
    const struct profile *profiles[] = {&columns, &loose, &digits, &mixed};
    const enum mass_unit units[] = {UNIT_KG, UNIT_LB, UNIT_G};
    struct random random;
    int said = 0;
    random_seed(&random, 2024);
    for (int i = 0; i < 40000; i++) {
        const struct profile *p = profiles[i % 4];
        char line[PROFILE_LINE_MAX];
        struct reading back, r = reading(0, units[random_bits(&random) % 3], (uint8_t)(random_bits(&random) % 4),
                                         (enum reading_state)(READING_STABLE + random_bits(&random) % 5));
        mass_pg step = unit_pg((enum mass_unit)r.unit);
        for (int k = 0; k < r.places; k++)
            step /= 10;
        r.mass = ((mass_pg)(random_bits(&random) % 18001) - 9000) * step;
        r.basis = p == &columns && random_bits(&random) % 2 ? BASIS_NET : BASIS_GROSS;
        uint8_t n = encode_line(p, &r, line);
        if (!n)
            continue;
        said++;
        assert_memory_equal(line + n - p->end_len, p->end, p->end_len);
        assert_int_equal(decode_line(p, line, (uint8_t)(n - p->end_len), &back), DECODE_READING);
        if (p->has_motion || !reading_has_weight(&r))
            assert_int_equal(back.state, r.state);
        else
            assert_int_equal(back.state, READING_UNKNOWN);
        assert_int_equal(back.unit, r.unit);
        assert_int_equal(back.basis, p == &loose ? BASIS_UNKNOWN : r.basis);
        if (!reading_has_weight(&r))
            continue;
        assert_int_equal(back.mass, r.mass);
        assert_int_equal(back.places, p->implied ? p->implied : r.places);
    }
    assert_true(said > 10000);
}

/* Every shipped profile says what decode reads again: figures of either sign, all states, both bases, every unit. */
static void shipped_shapes_come_back(void **state)
{
    (void)state;
    static struct file_text text;
    struct random random;
    glob_t g;
    unsigned serial = 0;
    random_seed(&random, 7);
    assert_int_equal(glob("profiles/scales/*.ini", 0, NULL, &g), 0);
    for (size_t i = 0; i < g.gl_pathc; i++) {
        struct faults faults = {0};
        struct profile p;
        unsigned said = 0;
        assert_true(file_read(g.gl_pathv[i], &text, &faults) && profile_read(&text, &p, &faults));
        for (int k = 0; k < 3000 && p.field_count; k++) {
            char line[PROFILE_LINE_MAX];
            struct reading back, r = reading(0, (enum mass_unit)(UNIT_KG + random_bits(&random) % 6),
                                             (uint8_t)(random_bits(&random) % 4),
                                             (enum reading_state)(READING_STABLE + random_bits(&random) % 7));
            mass_pg step = unit_pg((enum mass_unit)r.unit);
            for (int n = 0; n < r.places; n++)
                step /= 10;
            r.mass = ((mass_pg)(random_bits(&random) % 18001) - 9000) * step;
            uint8_t n = encode_line(&p, &r, line);
            if (!n)
                continue;
            said++;
            assert_int_equal(decode_line(&p, line, (uint8_t)(n - p.end_len), &back), DECODE_READING);
            if (reading_has_weight(&r) && (back.mass != r.mass || back.unit != r.unit))
                fail_msg("%s: %.*s", p.name, n, line);
            if (reading_has_weight(&r) ? p.has_motion && back.state != r.state
                                       : back.state != r.state && r.state != READING_NOTYET)
                fail_msg("%s: state %d comes back as %d", p.name, r.state, back.state);
        }
        assert_true(said > 100 || !p.field_count);
        serial += said > 0;
    }
    globfree(&g);
    assert_true(serial >= 18);
}

/* The whole way: mass on the platform, line, reading. */
static void a_weighing_comes_through(void **state)
{
    (void)state;
    struct plant_spec spec = plant_usual(15 * PG_PER_KG, 5 * PG_PER_G, encode_unit(&columns));
    struct plant plant;
    struct reading shown, read;
    char line[PROFILE_LINE_MAX];
    plant_init(&plant, &spec, 5);
    assert_true(plant_move(&plant, 1235 * PG_PER_G));
    plant_run(&plant, 4000);
    plant_show(&plant, &shown);
    uint8_t n = encode_line(&columns, &shown, line);
    assert_int_equal(decode_line(&columns, line, (uint8_t)(n - 2), &read), DECODE_READING);
    assert_int_equal(read.mass, 1235 * PG_PER_G);
    assert_int_equal(read.state, READING_STABLE);
    assert_int_equal(read.step, shown.step);
}

static void knows_its_units(void **state)
{
    (void)state;
    assert_int_equal(encode_unit(&columns), UNIT_KG);
    assert_int_equal(encode_unit(&digits), UNIT_KG);
    assert_true(encode_has_unit(&columns, UNIT_LB));
    assert_false(encode_has_unit(&columns, UNIT_OZ));
    assert_false(encode_has_unit(&columns, UNIT_NONE));
    assert_true(encode_has_unit(&digits, UNIT_KG));
    assert_false(encode_has_unit(&digits, UNIT_G));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(writes_the_shapes),
        cmocka_unit_test(says_nothing_where_it_has_no_words),
        cmocka_unit_test(an_over_long_line_is_no_line),
        cmocka_unit_test(comes_back_through_decode),
        cmocka_unit_test(shipped_shapes_come_back),
        cmocka_unit_test(a_weighing_comes_through),
        cmocka_unit_test(knows_its_units),
    };
    return cmocka_run_group_tests_name("plant encode", tests, NULL, NULL);
}
