/* The whole simulated scale: what it shows for what lies on it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <cmocka.h>

#include "plant/plant.h"

#define D (5 * PG_PER_G)

/* A bench scale of 15 kg x 5 g. */
static struct plant bench(uint64_t seed)
{
    struct plant_spec spec = plant_usual(15 * PG_PER_KG, D, UNIT_KG);
    struct plant p;
    plant_init(&p, &spec, seed);
    return p;
}

static struct reading shown(const struct plant *p)
{
    struct reading r;
    plant_show(p, &r);
    return r;
}

/* Runs until at rest; how long it took. */
static uint64_t rest(struct plant *p)
{
    uint64_t begun = p->now_ms;
    do {
        plant_step(p);
        assert_true(p->now_ms - begun < 20000);
    } while (!plant_settled(p));
    return p->now_ms - begun;
}

static void shows_what_lies_there(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 40; seed++) {
        struct plant p = bench(seed);
        mass_pg load = (mass_pg)(random_uniform(&p.indicator.random) * 15000) * PG_PER_G + 321;
        assert_true(plant_move(&p, load));
        plant_run(&p, 50);
        rest(&p);
        plant_run(&p, 1500);
        struct reading r = shown(&p);
        assert_int_equal(r.state, READING_STABLE);
        assert_int_equal(r.basis, BASIS_GROSS);
        assert_int_equal(r.unit, UNIT_KG);
        assert_int_equal(r.places, 3);
        assert_int_equal(r.step, PG_PER_G);
        assert_int_equal(r.mass % D, 0);
        assert_true(llabs(r.mass - plant_truth(&p)) <= D / 2 + D / 4); /* half a division and the noise */
    }
}

static void settles_like_a_bench_scale(void **state)
{
    (void)state;
    const mass_pg loads[] = {50 * PG_PER_G, 2 * PG_PER_KG, 14 * PG_PER_KG};
    for (int i = 0; i < 3; i++) {
        struct plant p = bench(7);
        assert_true(plant_move(&p, loads[i]));
        plant_run(&p, 200);
        assert_int_equal(shown(&p).state, READING_MOVING);
        assert_in_range(200 + rest(&p), 600, 3500); /* common practice, no source */
        assert_true(llabs(shown(&p).mass - loads[i]) <= D);
    }
}

static void the_same_seed_is_the_same_run(void **state)
{
    (void)state;
    struct plant a = bench(3), b = bench(3), c = bench(4);
    for (int ms = 0; ms < 3000; ms++) {
        plant_step(&a);
        plant_step(&b);
        plant_step(&c);
        assert_true(a.indicator.shown_g >= b.indicator.shown_g && a.indicator.shown_g <= b.indicator.shown_g);
    }
    assert_int_equal(a.indicator.random.state, b.indicator.random.state);
    assert_false(a.indicator.shown_g >= c.indicator.shown_g && a.indicator.shown_g <= c.indicator.shown_g);
}

/* OIML R 76-1 4.2.3 (from memory): the last value shown is capacity + 9 divisions, 15.045 kg here. */
static void stops_at_its_capacity(void **state)
{
    (void)state;
    struct plant p = bench(1);
    assert_true(plant_move(&p, 15045 * PG_PER_G));
    plant_run(&p, 5000);
    assert_int_equal(shown(&p).state, READING_STABLE);
    assert_int_equal(shown(&p).mass, 15045 * PG_PER_G);
    assert_true(plant_move(&p, 5 * PG_PER_G));
    plant_run(&p, 5000);
    assert_int_equal(shown(&p).state, READING_OVER);
    plant_clear(&p);
    plant_run(&p, 5000);
    assert_int_equal(shown(&p).mass, 0);
}

static void tares_and_shows_net(void **state)
{
    (void)state;
    struct plant p = bench(1);
    assert_true(plant_move(&p, 400 * PG_PER_G));
    plant_run(&p, 200);
    indicator_tare(&p.indicator); /* waits for rest: the tare is of what lies there then */
    plant_run(&p, 2900);
    assert_int_equal(shown(&p).basis, BASIS_NET);
    assert_int_equal(shown(&p).mass, 0);
    assert_true(plant_move(&p, 1000 * PG_PER_G));
    plant_run(&p, 3000);
    assert_int_equal(shown(&p).mass, 1000 * PG_PER_G);
    plant_clear(&p);
    plant_run(&p, 3000);
    assert_int_equal(shown(&p).mass, -400 * PG_PER_G);
    assert_int_equal(shown(&p).state, READING_STABLE);
    indicator_tare(&p.indicator); /* at zero: clears it */
    plant_run(&p, 500);
    assert_int_equal(shown(&p).basis, BASIS_GROSS);
    assert_int_equal(shown(&p).mass, 0);
}

static void a_key_pressed_in_motion_is_forgotten(void **state)
{
    (void)state;
    struct plant p = bench(1);
    platform_shake(&p.platform, 500 * PG_PER_G, 3, 10);
    plant_run(&p, 500);
    indicator_tare(&p.indicator);
    assert_true(plant_move(&p, 400 * PG_PER_G));
    plant_run(&p, 3100);
    assert_int_equal(p.indicator.tare_left, 0);
    plant_run(&p, 12000);
    assert_int_equal(shown(&p).basis, BASIS_GROSS);
}

static void zero_key_has_a_short_reach(void **state)
{
    (void)state;
    struct plant p = bench(1);
    assert_true(plant_move(&p, 250 * PG_PER_G)); /* within 2 % of capacity */
    plant_run(&p, 3000);
    indicator_zero(&p.indicator);
    plant_run(&p, 100);
    assert_int_equal(shown(&p).mass, 0);
    assert_true(plant_move(&p, 100 * PG_PER_G)); /* 350 g from the power-on zero: beyond */
    plant_run(&p, 3000);
    indicator_zero(&p.indicator);
    plant_run(&p, 100);
    assert_int_equal(shown(&p).mass, 100 * PG_PER_G);
    plant_clear(&p);
    plant_run(&p, 3000);
    assert_int_equal(shown(&p).state, READING_UNDER); /* -250 g is 50 divisions under zero */
}

static void follows_a_slow_zero_but_no_load(void **state)
{
    (void)state;
    struct plant p = bench(1);
    assert_true(platform_pour(&p.platform, 50 * PG_PER_G, PG_PER_G)); /* a drift of 0.2 divisions a second */
    plant_run(&p, 60000);
    assert_int_equal(shown(&p).mass, 0);
    struct plant q = bench(1);
    assert_true(plant_move(&q, 50 * PG_PER_G));
    plant_run(&q, 60000);
    assert_int_equal(shown(&q).mass, 50 * PG_PER_G);
    struct plant_spec spec = plant_usual(15 * PG_PER_KG, D, UNIT_KG);
    spec.indicator.tracks_zero = false;
    plant_init(&p, &spec, 1);
    assert_true(platform_pour(&p.platform, 50 * PG_PER_G, PG_PER_G));
    plant_run(&p, 60000);
    assert_int_equal(shown(&p).mass, 50 * PG_PER_G);
}

static void restart_takes_zero_at_its_load(void **state)
{
    (void)state;
    struct plant p = bench(1);
    assert_true(plant_move(&p, 2 * PG_PER_KG));
    plant_run(&p, 3000);
    indicator_restart(&p.indicator);
    plant_run(&p, 1000);
    assert_int_equal(shown(&p).state, READING_NOTYET);
    assert_false(plant_settled(&p));
    plant_run(&p, 4000);
    assert_int_equal(shown(&p).mass, 0); /* within 20 % of capacity: zeroed away */
    assert_int_equal(plant_truth(&p), 2 * PG_PER_KG);
    assert_true(plant_move(&p, 3 * PG_PER_KG));
    plant_run(&p, 3000);
    indicator_restart(&p.indicator);
    plant_run(&p, 5000);
    assert_int_equal(shown(&p).mass, 5 * PG_PER_KG); /* too much: the factory's zero */
}

static void shakes_and_says_so(void **state)
{
    (void)state;
    struct plant p = bench(1);
    int moving = 0;
    assert_true(plant_move(&p, 3 * PG_PER_KG));
    plant_run(&p, 3000);
    platform_shake(&p.platform, 40 * PG_PER_G, 4, 3);
    for (int i = 0; i < 3000; i += 100, plant_run(&p, 100))
        moving += shown(&p).state == READING_MOVING;
    assert_true(moving > 20);
    plant_run(&p, 3000);
    assert_int_equal(shown(&p).state, READING_STABLE);
    assert_int_equal(shown(&p).mass, 3 * PG_PER_KG);
}

static void other_units_have_their_own_division(void **state)
{
    (void)state;
    assert_int_equal(division_in(D, UNIT_KG), D);
    assert_int_equal(division_in(D, UNIT_G), D);
    assert_int_equal(division_in(D, UNIT_LB), PG_PER_LB / 100); /* 5 g is 0.011 lb */
    assert_int_equal(division_in(D, UNIT_OZ), PG_PER_OZ / 5);   /* 0.176 oz */
    assert_int_equal(division_in(PG_PER_LB / 100, UNIT_LB), PG_PER_LB / 100);
    assert_int_equal(division_in(PG_PER_LB / 100, UNIT_KG), 5 * PG_PER_G);
    assert_int_equal(division_in(PG_PER_G / 100, UNIT_LB), PG_PER_LB / 1000); /* the finest it can show */
    assert_int_equal(division_in(PG_PER_G / 100, UNIT_G), PG_PER_G / 100);

    struct plant p = bench(1);
    indicator_unit(&p.indicator, UNIT_LB);
    assert_true(plant_move(&p, 5 * PG_PER_LB));
    plant_run(&p, 4000);
    struct reading r = shown(&p);
    assert_int_equal(r.unit, UNIT_LB);
    assert_int_equal(r.places, 2);
    assert_int_equal(r.mass, 5 * PG_PER_LB);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shows_what_lies_there),
        cmocka_unit_test(settles_like_a_bench_scale),
        cmocka_unit_test(the_same_seed_is_the_same_run),
        cmocka_unit_test(stops_at_its_capacity),
        cmocka_unit_test(tares_and_shows_net),
        cmocka_unit_test(a_key_pressed_in_motion_is_forgotten),
        cmocka_unit_test(zero_key_has_a_short_reach),
        cmocka_unit_test(follows_a_slow_zero_but_no_load),
        cmocka_unit_test(restart_takes_zero_at_its_load),
        cmocka_unit_test(shakes_and_says_so),
        cmocka_unit_test(other_units_have_their_own_division),
    };
    return cmocka_run_group_tests_name("plant indicator", tests, NULL, NULL);
}
