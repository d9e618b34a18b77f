/* The simulated person: reaction time, easing off, over-pouring when told to, spooning out; alone and at a simulated scale. */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>
#include <cmocka.h>

#include "plant/hand.h"
#include "plant/plant.h"

#define SEEDS 300

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *values, size_t n)
{
    qsort(values, n, sizeof *values, by_size);
    return values[n / 2];
}

static struct hand begun(double target_g, double half_g, double extra_g, uint64_t seed)
{
    struct hand_spec spec = hand_practised(target_g, 2 * half_g);
    struct hand h;
    hand_begin(&h, &spec, extra_g, 0, seed);
    return h;
}

/* The screen jumps to the target at 3 s: how long the hand goes on. */
static void reacts_late(void **state)
{
    (void)state;
    double late[SEEDS];
    for (uint64_t seed = 1; seed <= SEEDS; seed++) {
        struct hand h = begun(1000, 20, 0, seed);
        struct hand_view view = {.fresh = true, .low_g = 980, .high_g = 1020};
        double now = 0;
        while (h.doing == HAND_POURS) {
            h.poured_g = 0; /* it sees nothing come of it, so it goes on */
            view.net_g = now >= 3 ? 1000 : 0;
            hand_step(&h, now += 0.01, &view);
            assert_true(now < 5);
        }
        late[seed - 1] = now - 3;
    }
    assert_true(fabs(median(late, SEEDS) - 0.35) < 0.03);
    assert_true(late[0] > 0.1 && late[SEEDS - 1] < 1); /* sorted: nobody is that fast or that slow */
    assert_true(late[SEEDS / 20] < 0.27 && late[SEEDS - SEEDS / 20] > 0.45);
}

static void eases_off(void **state)
{
    (void)state;
    struct hand h = begun(1000, 20, 0, 1);
    struct hand_view view = {.fresh = true, .low_g = 980, .high_g = 1020};
    double flow[3];
    const double net[3] = {0, 800, 990};
    for (int i = 0; i < 3; i++) {
        h = begun(1000, 20, 0, 1);
        h.misjudged = 0;
        view.net_g = net[i];
        for (double now = 0; now < 1.5; now += 0.02)
            flow[i] = hand_step(&h, now, &view);
    }
    assert_true(fabs(flow[0] - h.spec.fast_g_s) < 1e-9);
    assert_true(flow[1] < flow[0] && flow[1] > flow[2]);
    assert_true(fabs(flow[1] - (1000 - 800) / h.spec.ease_s) < 1e-9);
    assert_true(fabs(flow[2] - h.spec.slow_g_s) < 1e-9);
}

static void does_nothing_blindly(void **state)
{
    (void)state;
    struct hand h = begun(1000, 20, 0, 1);
    struct hand_view view = {.fresh = false, .low_g = 980, .high_g = 1020};
    for (double now = 0; now < 5; now += 0.02)
        assert_true(hand_step(&h, now, &view) <= 0);
    assert_int_equal(h.doing, HAND_POURS);
}

static void takes_out_only_what_it_is_told(void **state)
{
    (void)state;
    struct hand h = begun(1000, 20, 0, 5);
    struct hand_view view = {.fresh = true, .settled = true, .low_g = 980, .high_g = 1020, .net_g = 1060};
    double now = 0, taken = 0;
    for (; now < 4; now += 0.02)
        assert_true(hand_step(&h, now, &view) <= 0 && h.doing != HAND_SPOONS);
    view.says_over = true;
    for (; now < 20 && h.doing != HAND_DONE; now += 0.02) {
        double flow = hand_step(&h, now, &view);
        assert_true(flow <= 0);
        taken -= flow * 0.02;
        view.net_g = 1060 - taken;
        view.settled = flow >= 0;
        view.says_over = view.net_g > view.high_g;
    }
    assert_int_equal(h.doing, HAND_DONE);
    assert_true(fabs(taken - 60) < 20);
}

static void tops_up(void **state)
{
    (void)state;
    struct hand h = begun(1000, 20, 0, 5);
    struct hand_view view = {.fresh = true, .low_g = 980, .high_g = 1020, .net_g = 1000};
    double now = 0;
    for (; h.doing == HAND_POURS; now += 0.02)
        hand_step(&h, now, &view);
    view.net_g = 970; /* it was a wave of the figure */
    view.settled = true;
    for (; h.doing == HAND_WAITS; now += 0.02)
        hand_step(&h, now, &view);
    assert_int_equal(h.doing, HAND_POURS);
}

/* A whole weighing at a simulated scale. */
struct weighing {
    double done_s, most_g, end_g;
    bool spooned;
};

static void act_on(struct plant *p, double flow)
{
    if (flow > 0)
        assert_true(platform_pour(&p->platform, 50 * PG_PER_KG, (mass_pg)(flow * 1e12)));
    else if (flow < 0)
        assert_true(platform_pour(&p->platform, -plant_truth(p), (mass_pg)(-flow * 1e12)));
    else
        platform_stop(&p->platform);
}

static struct weighing weigh(const struct plant_spec *spec, uint32_t line_ms, double target_g, double half_g,
                             double extra_g, uint64_t seed)
{
    struct hand h = begun(target_g, half_g, extra_g, seed);
    struct hand_view view = {.low_g = target_g - half_g, .high_g = target_g + half_g};
    struct weighing w = {0};
    struct plant p;
    double flow = 0;
    plant_init(&p, spec, seed);
    for (; h.doing != HAND_DONE; plant_step(&p)) {
        double g = (double)plant_truth(&p) * 1e-12;
        w.most_g = fmax(w.most_g, g);
        if (p.now_ms % line_ms == 0) {
            struct reading r;
            plant_show(&p, &r);
            view.fresh = reading_has_weight(&r);
            view.settled = r.state == READING_STABLE;
            view.net_g = (double)r.mass * 1e-12;
            view.says_over = view.settled && view.net_g > view.high_g;
        }
        if (p.now_ms % 20)
            continue;
        double wanted = hand_step(&h, (double)p.now_ms * 0.001, &view);
        if (fabs(wanted - flow) > 0)
            act_on(&p, flow = wanted);
        w.spooned |= h.doing == HAND_SPOONS;
        assert_true(p.now_ms < 40000);
    }
    w.done_s = (double)p.now_ms * 0.001;
    w.end_g = (double)plant_truth(&p) * 1e-12;
    return w;
}

static void lands_in_the_band(void **state)
{
    (void)state;
    const struct {
        struct plant_spec spec;
        uint32_t line_ms;
        double target_g, half_g;
    } cases[] = {
        {plant_usual(15 * PG_PER_KG, 5 * PG_PER_G, UNIT_KG), 100, 1000, 20},
        {plant_usual(15 * PG_PER_KG, 5 * PG_PER_G, UNIT_KG), 100, 500, 10},
        {plant_usual(600 * PG_PER_G, PG_PER_G / 100, UNIT_G), 200, 300, 6},
        {plant_usual(600 * PG_PER_G, PG_PER_G / 100, UNIT_G), 200, 25, 0.25},
    };
    for (int c = 0; c < 4; c++) {
        double took[SEEDS];
        int spooned = 0;
        for (uint64_t seed = 1; seed <= SEEDS; seed++) {
            struct weighing w = weigh(&cases[c].spec, cases[c].line_ms, cases[c].target_g, cases[c].half_g, 0, seed);
            double off = fabs(w.end_g - cases[c].target_g);
            double division_g = (double)cases[c].spec.indicator.division * 1e-12;
            assert_true(off <= cases[c].half_g + division_g);
            took[seed - 1] = w.done_s;
            spooned += w.spooned;
        }
        assert_in_range((int)(median(took, SEEDS) * 1000), 3000, 6000);
        assert_true(spooned < SEEDS / 8);
    }
}

static void pours_over_when_told_to(void **state)
{
    (void)state;
    struct plant_spec spec = plant_usual(15 * PG_PER_KG, 5 * PG_PER_G, UNIT_KG);
    for (uint64_t seed = 1; seed <= 30; seed++) {
        struct weighing w = weigh(&spec, 100, 1000, 20, 80, seed);
        assert_true(w.spooned && w.most_g > 1030);
        assert_true(fabs(w.end_g - 1000) <= 25);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reacts_late),
        cmocka_unit_test(eases_off),
        cmocka_unit_test(does_nothing_blindly),
        cmocka_unit_test(takes_out_only_what_it_is_told),
        cmocka_unit_test(tops_up),
        cmocka_unit_test(lands_in_the_band),
        cmocka_unit_test(pours_over_when_told_to),
    };
    return cmocka_run_group_tests_name("plant hand", tests, NULL, NULL);
}
