/* The verbs of the pretend scale: what each line means, and what is said of a wrong one. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <unistd.h>
#include <cmocka.h>

#include "plant/source.h"

static struct verb parsed(const char *line)
{
    struct verb v;
    char why[VERB_WHY] = "";
    if (!verb_parse(line, &v, why))
        fail_msg("%s: %s", line, why);
    return v;
}

static void assert_refused(const char *line, const char *says)
{
    struct verb v;
    char why[VERB_WHY] = "";
    assert_false(verb_parse(line, &v, why));
    if (!strstr(why, says))
        fail_msg("%s: \"%s\" lacks \"%s\"", line, why, says);
}

static void reads_masses_and_flows(void **state)
{
    (void)state;
    struct verb v = parsed("put 1.2 kg");
    assert_int_equal(v.kind, VERB_PUT);
    assert_int_equal(v.mass, 1200 * PG_PER_G);
    v = parsed("  put\t3 lb 4.5 oz \r\n");
    assert_int_equal(v.mass, 3 * PG_PER_LB + PG_PER_OZ / 10 * 45);
    v = parsed("pour 500g at 20 g/s");
    assert_int_equal(v.kind, VERB_POUR);
    assert_int_equal(v.mass, 500 * PG_PER_G);
    assert_int_equal(v.flow, 20 * PG_PER_G);
    v = parsed("take 30 g");
    assert_int_equal(v.kind, VERB_TAKE);
    assert_int_equal(v.flow, 0);
    v = parsed("take 30 g at 5 g/s");
    assert_int_equal(v.flow, 5 * PG_PER_G);
    assert_int_equal(parsed("take all").kind, VERB_CLEAR);
    assert_int_equal(parsed("bump 50 g").mass, 50 * PG_PER_G);
}

static void reads_numbers(void **state)
{
    (void)state;
    struct verb v = parsed("vibrate 5 g 7.5 3");
    assert_int_equal(v.mass, 5 * PG_PER_G);
    assert_true(v.hz > 7.49 && v.hz < 7.51 && v.seconds > 2.99 && v.seconds < 3.01);
    v = parsed("vibrate 5 g 7.5 Hz 3 s");
    assert_true(v.hz > 7.49 && v.hz < 7.51 && v.seconds > 2.99 && v.seconds < 3.01);
    assert_true(parsed("silent").seconds < 0);
    assert_true(parsed("silent 2 s").seconds > 1.99);
    assert_int_equal(parsed("fault 2 s").kind, VERB_FAULT);
    assert_true(parsed("fault").seconds < 0);
    assert_int_equal(parsed("garbage 40").count, 40);
    assert_int_equal(parsed("unit lb").unit, UNIT_LB);
    assert_true(parsed("wait 0.25").seconds > 0.24);
    assert_int_equal(parsed("wait-settled").kind, VERB_WAIT_SETTLED);
    assert_int_equal(parsed("").kind, VERB_NOTHING);
    assert_int_equal(parsed(" # put 1 kg").kind, VERB_NOTHING);
}

static void refuses_with_the_form(void **state)
{
    (void)state;
    assert_refused("put 12", "put MASS");
    assert_refused("put", "12.5 kg");
    assert_refused("put -1 kg", "above 0");
    assert_refused("put 1 kg at 2 kg/s", "put MASS");
    assert_refused("pour 1 kg", "pour MASS at MASS/s");
    assert_refused("pour 1 kg at 2 kg", "pour MASS at MASS/s");
    assert_refused("pour 1 kg at /s", "pour MASS at MASS/s");
    assert_refused("take everything", "take all");
    assert_refused("vibrate 5 g", "vibrate MASS HZ SECONDS");
    assert_refused("vibrate 5 g 7 Hz", "vibrate MASS HZ SECONDS");
    assert_refused("vibrate 5 g 999 3", "vibrate MASS HZ SECONDS");
    assert_refused("wait", "wait SECONDS");
    assert_refused("wait 1.2.3", "wait SECONDS");
    assert_refused("wait x1", "wait SECONDS");
    assert_refused("wait 100000", "wait SECONDS");
    assert_refused("garbage 0", "1 to 1000");
    assert_refused("garbage 1001", "1 to 1000");
    assert_refused("garbage 1.5", "1 to 1000");
    assert_refused("unit stone", "unit kg");
    assert_refused("show me", "show");
    assert_refused("shake 5 g", "no verb \"shake\"");
    assert_refused("put 99999 kg", "put MASS");
}

static void takes_a_script_line_by_line(void **state)
{
    (void)state;
    struct source s;
    char line[VERB_LINE];
    bool too_long;
    source_script(&s, "put 1 kg\n\nshow", "a.txt");
    assert_true(source_next(&s, line, &too_long));
    assert_string_equal(line, "put 1 kg");
    assert_true(source_next(&s, line, &too_long));
    assert_true(source_next(&s, line, &too_long));
    assert_string_equal(line, "show");
    assert_int_equal(s.line, 3);
    assert_false(s.ended);
    assert_false(source_next(&s, line, &too_long));
    assert_true(s.ended);
}

static void takes_lines_as_they_come(void **state)
{
    (void)state;
    struct source s;
    char line[VERB_LINE], big[SOURCE_BUFFER];
    bool too_long = true;
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    source_live(&s, ends[0]);
    assert_int_equal(write(ends[1], "put 1", 5), 5);
    source_fill(&s);
    assert_false(source_next(&s, line, &too_long));
    assert_int_equal(write(ends[1], " kg\nsh\0ow\nquit", 14), 14);
    source_fill(&s);
    assert_true(source_next(&s, line, &too_long));
    assert_string_equal(line, "put 1 kg");
    assert_false(too_long);
    assert_true(source_next(&s, line, &too_long));
    assert_string_equal(line, "sh ow");
    assert_false(source_next(&s, line, &too_long));
    close(ends[1]);
    source_fill(&s); /* the end: the last line lacks its own */
    assert_true(source_next(&s, line, &too_long));
    assert_string_equal(line, "quit");
    assert_false(source_next(&s, line, &too_long));
    assert_true(s.ended);
    close(ends[0]);

    assert_int_equal(pipe(ends), 0);
    source_live(&s, ends[0]);
    memset(big, 'x', sizeof big);
    for (int i = 0; i < 2; i++) { /* longer than the buffer: skipped up to its end, and said so */
        assert_int_equal(write(ends[1], big, sizeof big), sizeof big);
        source_fill(&s);
        assert_false(source_next(&s, line, &too_long));
    }
    assert_int_equal(write(ends[1], "x\nshow\n", 7), 7);
    source_fill(&s);
    assert_true(source_next(&s, line, &too_long));
    assert_true(too_long);
    assert_true(source_next(&s, line, &too_long));
    assert_false(too_long);
    assert_string_equal(line, "show");
    close(ends[0]);
    close(ends[1]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_masses_and_flows),   cmocka_unit_test(reads_numbers),
        cmocka_unit_test(refuses_with_the_form),    cmocka_unit_test(takes_a_script_line_by_line),
        cmocka_unit_test(takes_lines_as_they_come),
    };
    return cmocka_run_group_tests_name("plant verb", tests, NULL, NULL);
}
