/* The batch sheet: its figures against the reference cases, its exit codes, and what it leaves out when it can't know. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>
#include <cmocka.h>

#include "core/exit.h"
#include "station/plan.h"

static char said[40000]; /* standard output of the last run */
static char erred[4000]; /* and standard error */

static void take(FILE *from, char *to, size_t cap)
{
    rewind(from);
    size_t n = fread(to, 1, cap - 1, from);
    to[n] = '\0';
    fclose(from);
}

static int run(const struct plan_arguments *a)
{
    FILE *out = tmpfile();
    FILE *err = tmpfile();
    setenv("TARELINE_PROFILES", "profiles", 1);
    fflush(stdout);
    int keep_out = dup(1);
    int keep_err = dup(2);
    dup2(fileno(out), 1);
    dup2(fileno(err), 2);
    int code = station_plan(a);
    fflush(stdout);
    fflush(stderr);
    dup2(keep_out, 1);
    dup2(keep_err, 2);
    close(keep_out);
    close(keep_err);
    take(out, said, sizeof said);
    take(err, erred, sizeof erred);
    return code;
}

static void assert_said(const char *what)
{
    if (!strstr(said, what))
        print_error("%s\n", said);
    assert_non_null(strstr(said, what));
}

/* Reference case C2 (9 CFR 424.21(c)): 40.0 kg of meat, at most 100.00 g of a 6.25 % cure, which is 156.25 ppm. */
static void the_usual_dose_lies_on_its_limit_and_is_within(void **state)
{
    (void)state;
    struct plan_arguments a = {.formula = "smoked-bratwurst", .station = "smokehouse", .json = true};
    a.has_meat = true;
    a.meat = 40 * PG_PER_KG;
    assert_int_equal(run(&a), EXIT_DONE);
    assert_said("\"ingredient\":\"curing-salt\"");
    assert_said("\"exact_g\":100,\"target_g\":100,\"low_g\":98,\"high_g\":100,\"scale\":\"fine\",\"fit\":\"good\"");
    assert_said("\"planned_ppm\":156.25,\"max_ppm\":156.25,\"max_g\":100,\"within\":true");
}

/* In a third of all batches a half-even target would lie above the limit: every one of these must be accepted. */
static void the_usual_dose_is_within_for_any_mass_of_meat(void **state)
{
    (void)state;
    for (unsigned k = 1; k < 400; k += 7) {
        struct plan_arguments a = {.formula = "smoked-bratwurst", .station = "smokehouse", .json = true};
        a.has_meat = true;
        a.meat = 10 * PG_PER_KG + k * (5 * PG_PER_G + 1);
        assert_int_equal(run(&a), EXIT_DONE);
        assert_said("\"within\":true");
    }
}

static void beyond_the_limit_is_no(void **state)
{
    (void)state;
    struct plan_arguments a = {.formula = "tests/unit/files/plan/over-its-limit.ini", .station = "smokehouse"};
    assert_int_equal(run(&a), EXIT_NO);
    assert_said("Curing salt: 157.50 ppm sodium-nitrite of the meat; at most 156.25 ppm, which is 25.00 g.");
    assert_said("BEYOND ITS LIMIT");
}

static void no_scale_fit_for_a_regulated_one_is_no(void **state)
{
    (void)state;
    struct plan_arguments a = {.formula = "kit-summer-sausage", .station = "smokehouse"};
    a.scales[a.scale_count++] = "bench=bare-kg@/dev/null"; /* capacity and division: the station's of that name */
    assert_int_equal(run(&a), EXIT_NO);
    assert_said("NOT FIT for bench: below the least load of its class.");
}

static void without_a_station_no_limit_is_claimed(void **state)
{
    (void)state;
    struct plan_arguments a = {.formula = "kit-summer-sausage", .json = true};
    assert_int_equal(run(&a), EXIT_DONE);
    assert_said("\"limits_known\":false");
    assert_said("\"exact_g\":50,\"target_g\":50,\"low_g\":null,\"high_g\":null,\"scale\":null,\"fit\":null");
    a.json = false;
    assert_int_equal(run(&a), EXIT_DONE);
    assert_said("Its limit was NOT looked up");
}

static void the_sheet_has_eighty_columns(void **state)
{
    (void)state;
    struct plan_arguments a = {.formula = "smoked-bratwurst", .station = "smokehouse"};
    a.has_meat = true;
    a.meat = 100 * PG_PER_KG;
    assert_int_equal(run(&a), EXIT_DONE);
    char *end = strstr(said, "\n\nCuring salt");
    assert_non_null(end);
    *end = '\0';
    assert_said("  9 Curing salt, 6.25 % nitrite   250.00 g    245.00 g ..   250.00 g  fine\n");
    for (char *line = strtok(said, "\n"); line; line = strtok(NULL, "\n"))
        assert_true(strlen(line) <= 80);
}

static void what_is_missing_is_said(void **state)
{
    (void)state;
    struct plan_arguments a = {.formula = "smoked-bratwurst"};
    assert_int_equal(run(&a), EXIT_USAGE);
    assert_non_null(strstr(erred, "say how much: --meat 10kg"));
    a.formula = "no-such-formula";
    assert_int_equal(run(&a), EXIT_FILE);
    assert_non_null(strstr(erred, "no-such-formula: no such file in formulas"));
    a.formula = "smoked-bratwurst";
    a.has_meat = true;
    a.meat = INT64_MAX - 5;
    assert_int_equal(run(&a), EXIT_NO);
    assert_non_null(strstr(erred, "can't be laid out"));
    a.meat = PG_PER_KG;
    a.scales[a.scale_count++] = "bench=bare-kg@/dev/null";
    assert_int_equal(run(&a), EXIT_FILE);
    assert_non_null(strstr(erred, "bench: this scale has no capacity or no division"));
    a.scales[a.scale_count++] = "bench=bare-kg@/dev/zero";
    assert_int_equal(run(&a), EXIT_FILE);
    assert_non_null(strstr(erred, "the name bench is given twice"));
}

static void fitness_has_sharp_edges(void **state)
{
    (void)state;
    static struct formula f = {.ingredient_count = 1};
    struct scale_setup sc = {.capacity = 15 * PG_PER_KG, .division = 5 * PG_PER_G, .min_load = 100 * PG_PER_G};
    struct setup setup = {.formula = &f, .scales = &sc, .scale_count = 1, .container_max = 2 * PG_PER_KG};
    struct band_side *under = &f.ingredients[0].band.under;
    mass_pg cup = 0;
    *under = (struct band_side){.given = true, .share = {1, 100}};
    assert_int_equal(scale_fit(&setup, 0, 0, 13 * PG_PER_KG), FIT_GOOD);
    assert_int_equal(scale_fit(&setup, 0, 0, 13 * PG_PER_KG + 1), FIT_HEAVY);
    *under = (struct band_side){.given = true, .is_mass = true, .mass = 5 * PG_PER_G};
    assert_int_equal(scale_fit(&setup, 0, 0, 100 * PG_PER_G), FIT_GOOD);
    assert_int_equal(scale_fit(&setup, 0, 0, 100 * PG_PER_G - 1), FIT_LIGHT);
    under->mass--;
    assert_int_equal(scale_fit(&setup, 0, 0, 100 * PG_PER_G), FIT_COARSE);
    /* a fifth of a small scale is for a container, or what a known one weighs */
    sc = (struct scale_setup){.capacity = 600 * PG_PER_G, .division = PG_PER_G / 100};
    assert_int_equal(scale_fit(&setup, 0, 0, 480 * PG_PER_G), FIT_GOOD);
    assert_int_equal(scale_fit(&setup, 0, 0, 480 * PG_PER_G + 1), FIT_HEAVY);
    cup = 85 * PG_PER_G;
    setup.cup_empty = &cup;
    assert_int_equal(scale_fit(&setup, 0, 0, 515 * PG_PER_G), FIT_GOOD);
    assert_int_equal(scale_fit(&setup, 0, 0, 515 * PG_PER_G + 1), FIT_HEAVY);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_usual_dose_lies_on_its_limit_and_is_within),
        cmocka_unit_test(the_usual_dose_is_within_for_any_mass_of_meat),
        cmocka_unit_test(beyond_the_limit_is_no),
        cmocka_unit_test(no_scale_fit_for_a_regulated_one_is_no),
        cmocka_unit_test(without_a_station_no_limit_is_claimed),
        cmocka_unit_test(the_sheet_has_eighty_columns),
        cmocka_unit_test(what_is_missing_is_said),
        cmocka_unit_test(fitness_has_sharp_edges),
    };
    return cmocka_run_group_tests_name("plan", tests, NULL, NULL);
}
