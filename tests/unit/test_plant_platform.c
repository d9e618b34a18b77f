/* The platform against the closed forms of a damped oscillator (any text on vibration; from memory), and its truth. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>

#include "plant/platform.h"

#define PAN_G 5000.0
#define EMPTY_HZ 25.0
#define RATIO 0.2

static void run(struct platform *p, int ms)
{
    while (ms--)
        platform_step(p);
}

/* Times of the first `n` crossings of felt through `level`, in seconds between steps. */
static int crossings(struct platform *p, double level, double *at, int n)
{
    int found = 0;
    double before = p->felt_g - level;
    for (int ms = 1; ms < 5000 && found < n; ms++) {
        platform_step(p);
        double after = p->felt_g - level;
        if ((before < 0) != (after < 0))
            at[found++] = (ms - after / (after - before)) * PLANT_STEP_S;
        before = after;
    }
    return found;
}

static void swings_slower_under_load(void **state)
{
    (void)state;
    const mass_pg loads[] = {1 * PG_PER_G, 5 * PG_PER_KG, 15 * PG_PER_KG};
    for (int i = 0; i < 3; i++) {
        struct platform p;
        double at[5], load_g = (double)loads[i] * 1e-12, moving = PAN_G + load_g;
        platform_init(&p, PAN_G, EMPTY_HZ, RATIO);
        p.load = loads[i];
        assert_int_equal(crossings(&p, load_g, at, 5), 5);
        double w = 2 * M_PI * EMPTY_HZ * sqrt(PAN_G / moving);
        double ratio = RATIO * sqrt(PAN_G / moving); /* same dashpot, more mass */
        double expected_hz = w * sqrt(1 - ratio * ratio) / (2 * M_PI);
        double hz = 2 / (at[4] - at[0]);
        assert_true(fabs(hz / expected_hz - 1) < 0.01);
    }
}

static void swings_die_as_they_should(void **state)
{
    (void)state;
    struct platform p;
    double first = 0, second = 0;
    platform_init(&p, PAN_G, EMPTY_HZ, RATIO);
    p.load = 10 * PG_PER_KG;
    for (int ms = 0; ms < 1000; ms++) { /* the heights of the first two peaks */
        double before = p.speed_g_s;
        platform_step(&p);
        if (before > 0 && p.speed_g_s <= 0) {
            if (first == 0)
                first = p.felt_g - 10000;
            else if (second == 0)
                second = p.felt_g - 10000;
        }
    }
    double ratio = RATIO * sqrt(PAN_G / (PAN_G + 10000));
    double decrement = 2 * M_PI * ratio / sqrt(1 - ratio * ratio);
    assert_true(fabs(log(first / second) / decrement - 1) < 0.03);
    run(&p, 5000);
    assert_true(fabs(p.felt_g - 10000) < 1e-6);
}

static void vibration_is_loudest_at_resonance(void **state)
{
    (void)state;
    double height[2] = {0, 0};
    const double hz[2] = {EMPTY_HZ, EMPTY_HZ / 10};
    for (int i = 0; i < 2; i++) {
        struct platform p;
        platform_init(&p, PAN_G, EMPTY_HZ, RATIO);
        platform_shake(&p, 10 * PG_PER_G, hz[i], 4);
        run(&p, 2000);
        for (int ms = 0; ms < 1000; ms++) {
            platform_step(&p);
            height[i] = fmax(height[i], fabs(p.felt_g));
        }
    }
    assert_true(fabs(height[0] / 10 * (2 * RATIO) - 1) < 0.05); /* 1 / (2 ratio) at resonance */
    assert_true(fabs(height[1] / 10 - 1) < 0.05);               /* the force itself far below */
}

static void a_knock_passes(void **state)
{
    (void)state;
    struct platform p;
    double most = 0;
    platform_init(&p, PAN_G, EMPTY_HZ, RATIO);
    platform_bump(&p, 100 * PG_PER_G, 60);
    assert_true(platform_busy(&p));
    for (int ms = 0; ms < 2000; ms++) {
        platform_step(&p);
        most = fmax(most, p.felt_g);
    }
    assert_true(most > 50 && fabs(p.felt_g) < 1e-3);
    assert_int_equal(p.load, 0);
    assert_false(platform_busy(&p));
}

static void pours_are_exact(void **state)
{
    (void)state;
    struct platform p;
    const mass_pg all = INT64_C(123456789000001);
    platform_init(&p, PAN_G, EMPTY_HZ, RATIO);
    assert_true(platform_pour(&p, all, 50 * PG_PER_G));
    run(&p, 1000);
    assert_int_equal(p.load, 50 * PG_PER_G);
    assert_true(platform_busy(&p));
    run(&p, 2000);
    assert_int_equal(p.load, all);
    assert_true(platform_pour(&p, -23 * PG_PER_G, 10 * PG_PER_G)); /* spooned out */
    run(&p, 3000);
    assert_int_equal(p.load, all - 23 * PG_PER_G);
    assert_true(platform_pour(&p, 100 * PG_PER_G, 10 * PG_PER_G));
    run(&p, 500);
    platform_stop(&p);
    run(&p, 500);
    assert_int_equal(p.load, all - 18 * PG_PER_G);
}

static void things_go_on_and_off(void **state)
{
    (void)state;
    struct platform p;
    platform_init(&p, PAN_G, EMPTY_HZ, RATIO);
    assert_true(platform_move(&p, 2 * PG_PER_KG, 150));
    run(&p, 75);
    assert_in_range(p.load, 990 * PG_PER_G, 1010 * PG_PER_G);
    run(&p, 100);
    assert_int_equal(p.load, 2 * PG_PER_KG);
    assert_true(platform_move(&p, -500 * PG_PER_G, 150));
    assert_true(platform_pour(&p, 30 * PG_PER_G, 10 * PG_PER_G));
    run(&p, 1000);
    platform_clear(&p, 150);
    run(&p, 151);
    assert_int_equal(p.load, 0);
    run(&p, 4000);
    assert_int_equal(p.load, 0); /* what was poured has ended too */
}

static void less_than_nothing_is_refused(void **state)
{
    (void)state;
    struct platform p;
    platform_init(&p, PAN_G, EMPTY_HZ, RATIO);
    assert_false(platform_move(&p, -1, 150));
    assert_false(platform_pour(&p, -1, PG_PER_G));
    assert_true(platform_move(&p, PG_PER_KG, 150));
    assert_true(platform_pour(&p, -400 * PG_PER_G, PG_PER_G));
    assert_false(platform_move(&p, -601 * PG_PER_G, 150)); /* the spoon will have taken 400 g */
    assert_true(platform_move(&p, -600 * PG_PER_G, 150));
    assert_false(platform_move(&p, INT64_MAX, 150));
    run(&p, 401000);
    assert_int_equal(p.load, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(swings_slower_under_load),
        cmocka_unit_test(swings_die_as_they_should),
        cmocka_unit_test(vibration_is_loudest_at_resonance),
        cmocka_unit_test(a_knock_passes),
        cmocka_unit_test(pours_are_exact),
        cmocka_unit_test(things_go_on_and_off),
        cmocka_unit_test(less_than_nothing_is_refused),
    };
    return cmocka_run_group_tests_name("plant platform", tests, NULL, NULL);
}
