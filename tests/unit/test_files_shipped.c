/* Every shipped file is without faults, the reference page is what the tables print, and the profiles decode. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <glob.h>
#include <cmocka.h>

#include "core/decode.h"
#include "files/files.h"

static void shipped_files_have_no_faults(void **state)
{
    (void)state;
    glob_t g;
    unsigned kinds = 0;
    setenv("TARELINE_PROFILES", "profiles", 1);
    assert_int_equal(glob("profiles/*/*.ini", 0, NULL, &g), 0);
    for (size_t i = 0; i < g.gl_pathc; i++) {
        static struct file_text text;
        struct faults f = {0};
        const char *kind = "";
        assert_true(file_read(g.gl_pathv[i], &text, &f));
        file_check(&text, &kind, &f);
        assert_string_equal(f.text, "");
        kinds |= 1u << (kind[0] - 'a');
    }
    assert_true(g.gl_pathc >= 10);
    globfree(&g);
    /* formula, limits, people, scale, station */
    assert_int_equal(kinds, 1u << 5 | 1u << 11 | 1u << 15 | 1u << 18);
}

static char *slurp(FILE *in)
{
    static char buf[2][65536];
    static int which;
    char *to = buf[which ^= 1];
    size_t n = fread(to, 1, sizeof buf[0] - 1, in);
    to[n] = '\0';
    return to;
}

static void reference_page_is_what_the_tables_print(void **state)
{
    (void)state;
    FILE *page = fopen("docs/files.md", "r");
    FILE *made = tmpfile();
    assert_non_null(page);
    assert_non_null(made);
    files_reference(made);
    rewind(made);
    assert_string_equal(slurp(page), slurp(made));
    fclose(page);
    fclose(made);
}

static struct profile shipped(const char *name)
{
    static struct file_text text;
    struct faults f = {0};
    struct profile p;
    char path[FILE_PATH];
    assert_true(file_find("scales", name, path, &f));
    assert_true(file_read(path, &text, &f) && profile_read(&text, &p, &f));
    assert_string_equal(p.name, name);
    return p;
}

struct sample {
    const char *profile, *line; /* without its end */
    enum reading_state state;
    enum reading_basis basis;
    enum mass_unit unit;
    mass_pg mass;
};

/* What each shipped profile's head says that the scale sends. */
static const struct sample samples[] = {
    {"status-basis-kg", "ST,GS,+  2.350kg", READING_STABLE, BASIS_GROSS, UNIT_KG, 2350 * PG_PER_G},
    {"status-basis-kg", "US,NT,-  0.005kg", READING_MOVING, BASIS_NET, UNIT_KG, -5 * PG_PER_G},
    {"status-basis-kg", "OL,GS,+ 99.999kg", READING_OVER, BASIS_GROSS, UNIT_KG, 0},
    {"status-basis-kg", "ST,GS,+  5.125lb", READING_STABLE, BASIS_GROSS, UNIT_LB, 5125 * (PG_PER_LB / 1000)},
    {"status-basis-kg", "ST,GS,+  5.125st", READING_UNIT, BASIS_GROSS, UNIT_NONE, 0},
    {"asked-comma-g", "+  123,45 g ", READING_STABLE, BASIS_GROSS, UNIT_G, 123450 * PG_PER_MG},
    {"asked-comma-g", "-    0,02 gM", READING_MOVING, BASIS_GROSS, UNIT_G, -20 * PG_PER_MG},
    {"asked-comma-g", "+-------- gE", READING_FAULT, BASIS_GROSS, UNIT_G, 0},
    {"asked-comma-g", "+-------- g ", READING_OVER, BASIS_GROSS, UNIT_G, 0},
    {"asked-comma-g", "-________ g ", READING_UNDER, BASIS_GROSS, UNIT_G, 0},
    {"lettered-lb", "\x02G   12.345 lb S", READING_STABLE, BASIS_GROSS, UNIT_LB, 12345 * (PG_PER_LB / 1000)},
    {"lettered-lb", "\x02N   -3.125 oz M", READING_MOVING, BASIS_NET, UNIT_OZ, -3125 * (PG_PER_OZ / 1000)},
    {"lettered-lb", "\x02G          lb O", READING_OVER, BASIS_GROSS, UNIT_LB, 0},
    {"bare-kg", "-   1235", READING_UNKNOWN, BASIS_UNKNOWN, UNIT_KG, -1235 * PG_PER_G},
    {"bare-kg", "    OVER", READING_OVER, BASIS_UNKNOWN, UNIT_KG, 0},
    {"status-behind-kg", "  12.345 kg N ST", READING_STABLE, BASIS_NET, UNIT_KG, 12345 * PG_PER_G},
    {"status-behind-kg", "         kg G --", READING_NOTYET, BASIS_GROSS, UNIT_KG, 0},
    {"brackets-lb", "   12.34  lb  ", READING_STABLE, BASIS_GROSS, UNIT_LB, 1234 * (PG_PER_LB / 100)},
    {"brackets-lb", "   (0.02) lb M", READING_MOVING, BASIS_GROSS, UNIT_LB, -2 * (PG_PER_LB / 100)},
    {"brackets-lb", "  EEEEEEE lb  ", READING_OVER, BASIS_GROSS, UNIT_LB, 0},
    {"minus-behind-g", "S 123.4 g", READING_STABLE, BASIS_GROSS, UNIT_G, 123400 * PG_PER_MG},
    {"minus-behind-g", "D 0.6- g", READING_MOVING, BASIS_GROSS, UNIT_G, -600 * PG_PER_MG},
    {"minus-behind-g", "WAIT", READING_NOTYET, BASIS_GROSS, UNIT_NONE, 0},
    {"minus-behind-g", " OVER ", READING_OVER, BASIS_GROSS, UNIT_NONE, 0},
    {"framed-zeros-kg", "\x02P0012345SG", READING_STABLE, BASIS_GROSS, UNIT_KG, 12345 * PG_PER_G},
    {"framed-zeros-kg", "\x02N0000005MN", READING_MOVING, BASIS_NET, UNIT_KG, -5 * PG_PER_G},
    {"pounds-ounces", "+  3 lb  4.5 oz S", READING_STABLE, BASIS_GROSS, UNIT_OZ, 3 * PG_PER_LB + PG_PER_OZ / 2 * 9},
    {"gross-tare-net-kg", "G  2.350 T  0.350 N  2.000 kg ST", READING_STABLE, BASIS_GROSS, UNIT_KG, 2350 * PG_PER_G},
    {"no-end-kg", "=+  2.350S", READING_STABLE, BASIS_GROSS, UNIT_KG, 2350 * PG_PER_G},
    {"reversed-kg", "=053.2000", READING_UNKNOWN, BASIS_UNKNOWN, UNIT_KG, 2350 * PG_PER_G},
    {"reversed-kg", "=500.000-", READING_UNKNOWN, BASIS_UNKNOWN, UNIT_KG, -5 * PG_PER_G},
    {"reversed-kg", "=HHHHHHHH", READING_OVER, BASIS_UNKNOWN, UNIT_KG, 0},
    /* the check sums by another program than ours */
    {"packed-checked-kg", "\x02\x52\x12\x34\x56\x22\x03", READING_STABLE, BASIS_NET, UNIT_KG, -123456 * PG_PER_G},
    {"bits-checked-kg", "\x02%0   2350     0\r\"", READING_STABLE, BASIS_GROSS, UNIT_KG, 2350 * PG_PER_G},
    {"summed-status-kg", "ST,GS,+  2.350kg,CE", READING_STABLE, BASIS_GROSS, UNIT_KG, 2350 * PG_PER_G},
    {"settled-crc-g", "W+  123.45 g 44A6", READING_UNKNOWN, BASIS_GROSS, UNIT_G, 123450 * PG_PER_MG},
    {"key-basis-kg", "GROSS   2.350 kg", READING_UNKNOWN, BASIS_GROSS, UNIT_KG, 2350 * PG_PER_G},
    {"key-basis-kg", "OVERLOAD", READING_OVER, BASIS_UNKNOWN, UNIT_NONE, 0},
    {"asked-sum-g", "\x02N   -12.3g S86", READING_STABLE, BASIS_NET, UNIT_G, -12300 * PG_PER_MG},
};

static void shipped_profiles_decode_their_samples(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof samples / sizeof *samples; i++) {
        const struct sample *s = &samples[i];
        struct profile p = shipped(s->profile);
        struct reading r = {0};
        print_message("%s: sample %zu\n", s->profile, i);
        assert_int_equal(decode_line(&p, s->line, (uint8_t)strlen(s->line), &r), DECODE_READING);
        assert_int_equal(r.state, s->state);
        assert_int_equal(r.basis, s->basis);
        if (reading_has_weight(&r) || r.state == READING_UNIT)
            assert_int_equal(r.unit, s->unit);
        if (reading_has_weight(&r))
            assert_int_equal(r.mass, s->mass);
    }
}

static void shipped_profiles_refuse_a_broken_line(void **state)
{
    (void)state;
    struct profile p = shipped("status-basis-kg");
    struct reading r;
    for (uint8_t n = 0; n < 16; n++)
        assert_int_equal(decode_line(&p, "ST,GS,+  2.350kg", n, &r), DECODE_BAD_LINE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shipped_files_have_no_faults),
        cmocka_unit_test(reference_page_is_what_the_tables_print),
        cmocka_unit_test(shipped_profiles_decode_their_samples),
        cmocka_unit_test(shipped_profiles_refuse_a_broken_line),
    };
    return cmocka_run_group_tests_name("files_shipped", tests, NULL, NULL);
}
