/* core/settle.c: pours and rests at every rate of reading, silences, clocks, motion marks, and the rule as its header has
 * it, worked out anew from all readings. */
#include <math.h>
#include <stdlib.h>

#include "core_test.h"

#include "core/settle.h"

#define G PG_PER_G
#define D (5 * G)
#define S UINT64_C(1000000)

static struct settle s;
static struct settle_rule rule;
static uint64_t now;

static int set_up(void **state)
{
    (void)state;
    settle_reset(&s);
    rule = (struct settle_rule){.division = D};
    now = 100 * S;
    return 0;
}

static void feed_at(uint64_t at, uint64_t since, mass_pg mass, enum reading_state state)
{
    struct reading r = {.mass = mass, .step = D, .at = at, .since = since, .state = (uint8_t)state, .unit = UNIT_G};

    settle_feed(&s, &rule, &r);
}

/* The next reading of a scale that sends every `period`. */
static enum settle_state next(uint64_t period, mass_pg mass, enum reading_state state)
{
    mass_pg got = -7;
    enum settle_state judged;

    now += period;
    feed_at(now, now - period, mass, state);
    judged = settle_judge(&s, &rule, now, &got);
    assert_int_equal(got, judged == SETTLE_SETTLED || judged == SETTLE_DISPUTED ? mass : -7);
    return judged;
}

static enum settle_state judge(uint64_t at)
{
    mass_pg got;

    return settle_judge(&s, &rule, at, &got);
}

/* Microseconds of rest until it is settled. */
static uint64_t rest(uint64_t period, mass_pg mass)
{
    uint64_t begin = now;

    while (next(period, mass, READING_UNKNOWN) != SETTLE_SETTLED)
        assert_true(now - begin < 20 * S);
    return now - begin;
}

static void a_pour_then_rest_at_any_rate(void **state)
{
    static const struct {
        unsigned per_second;
        uint32_t gap_us, soonest, latest;
    } t[] = {
        {5, 0, 950000, 1350000},       {7, 0, 950000, 1236000},        {10, 0, 950000, 1150000},
        {20, 0, 950000, 1050000},      {50, 0, 950000, 990000},        {200, 0, 950000, 960000},
        {3, 500000, 1000000, 1400000}, {1, 1500000, 3000000, 4000000},
    };

    for (size_t i = 0; i < sizeof t / sizeof *t; i++) {
        uint64_t period = S / t[i].per_second, took;

        set_up(state);
        rule.gap_us = t[i].gap_us;
        for (mass_pg m = 0; m < 200; m++) /* 20 divisions a second */
            assert_int_equal(next(period, m * D * 20 / t[i].per_second / D * D, READING_UNKNOWN), SETTLE_MOVING);
        took = rest(period, 320 * D);
        assert_in_range(took, t[i].soonest, t[i].latest);
        for (unsigned k = 0; k < 5 * t[i].per_second; k++)
            assert_int_equal(next(period, 320 * D, READING_UNKNOWN), SETTLE_SETTLED);
        assert_int_equal(next(period, 322 * D, READING_UNKNOWN), SETTLE_MOVING);
    }
}

/* Microseconds of rest, by a scale whose mark says "moving" all the time, until a yes may be said. */
static uint64_t until_it_rests(uint64_t period, mass_pg mass)
{
    uint64_t begin = now;

    do {
        assert_true(now - begin < 5 * S);
        assert_int_equal(next(period, mass, READING_MOVING), SETTLE_MOVING);
    } while (!settle_rests(&s, &rule, now));
    return now - begin;
}

static void it_rests_before_it_is_settled(void **state)
{
    static const struct {
        unsigned per_second, flow, soonest, latest;
    } t[] = {
        {50, 20, 450000, 490000}, {10, 20, 450000, 560000},  {5, 20, 600000, 810000},
        {50, 2, 740000, 800000},  {50, 1, 1360000, 1420000},
    };

    for (size_t i = 0; i < sizeof t / sizeof *t; i++) {
        uint64_t period = S / t[i].per_second;
        mass_pg top = 0;

        set_up(state);
        for (uint64_t us = 0; us <= 5 * S; us += period) {
            top = (mass_pg)(us * t[i].flow / S) * D;
            (void)next(period, top, READING_MOVING);
            assert_false(settle_rests(&s, &rule, now));
        }
        assert_in_range(until_it_rests(period, top), t[i].soonest, t[i].latest);
        assert_true(settle_rests(&s, &rule, now + 450000));
        assert_false(settle_rests(&s, &rule, now + 450001)); /* the newest reading is too old */
        (void)next(period, top + D / 2, READING_UNKNOWN);
        assert_false(settle_rests(&s, &rule, now));
    }
}

/* What is settled rests as well, though it flickers and holds no level; what has no weight does not. */
static void what_is_settled_rests(void **state)
{
    (void)state;
    for (unsigned k = 0; k < 60; k++)
        (void)next(S / 10, k & 1 ? D : 0, READING_UNKNOWN);
    assert_int_equal(judge(now), SETTLE_SETTLED);
    assert_true(settle_rests(&s, &rule, now));
    (void)next(S / 10, 0, READING_OVER);
    assert_false(settle_rests(&s, &rule, now));
    settle_reset(&s);
    assert_false(settle_rests(&s, &rule, now));
}

/* A pour at so many divisions a second that ends; told to stop so long before it does. How long it must rest. */
static uint64_t rest_once_told(void **state, unsigned per_second, uint64_t before, mass_pg told_per_second)
{
    mass_pg top = 0;

    set_up(state);
    for (uint64_t us = 0; us <= 3 * S; us += S / 50) {
        top = (mass_pg)(us * per_second / S) * D;
        assert_int_equal(next(S / 50, top, READING_UNKNOWN), SETTLE_MOVING);
        if (us == 3 * S - before)
            settle_told(&s, &rule, now, told_per_second);
    }
    return rest(S / 50, top);
}

static void who_was_told_to_stop_has_stopped(void **state)
{
    assert_in_range(rest_once_told(state, 20, 2 * S, 20 * D), 530000, 560000);
    assert_in_range(rest_once_told(state, 20, S / 2, 20 * D), 680000, 710000);  /* not yet for long enough */
    assert_in_range(rest_once_told(state, 20, 2 * S, 201 * D), 590000, 620000); /* the end of a fast flow is hidden */
    assert_in_range(rest_once_told(state, 20, 2 * S, 1600 * D), 710000, 740000);
    assert_in_range(rest_once_told(state, 20, 2 * S, 1000000 * D), 930000, 960000); /* never longer than untold */
    assert_in_range(rest_once_told(state, 20, 2 * S, -D), 530000, 560000);
    assert_in_range(rest_once_told(state, 2, 2 * S, 2 * D), 1000000, 1080000); /* it crept: twice what two steps took */
    assert_in_range(rest_once_told(state, 2, 4 * S, 0), 1260000, 1340000);
}

/* As soon as it is asked about nobody is told any more. */
static void a_level_that_was_held_stays_so(void **state)
{
    rest_once_told(state, 20, 2 * S, 20 * D);
    settle_told(&s, &rule, 0, 0);
    assert_int_equal(next(S / 50, 60 * D, READING_UNKNOWN), SETTLE_SETTLED);
    assert_int_equal(next(S / 50, 61 * D, READING_UNKNOWN), SETTLE_MOVING);
    assert_in_range(rest(S / 50, 61 * D), 930000, 1400000);
    settle_told(&s, &rule, 0, 0);
    rest_once_told(state, 20, 2 * S, 20 * D);
    settle_told(&s, &rule, 0, 0);
    assert_int_equal(next(S, 60 * D, READING_UNKNOWN), SETTLE_MOVING); /* a break: nothing is known of it */
}

/* By pieces or spoons. */
static void who_goes_on_after_a_rest_is_told_no_more(void **state)
{
    rest_once_told(state, 20, 2 * S, 20 * D);
    assert_in_range(rest(S / 50, 80 * D), 930000, 1000000);
    settle_told(&s, &rule, now - 2 * S, 20 * D); /* to stop once more */
    assert_in_range(rest(S / 50, 100 * D), 550000, 600000);
}

static void who_was_not_told_may_go_on(void **state)
{
    assert_in_range(rest_once_told(state, 20, 4 * S, 0), 930000, 960000);
    rest_once_told(state, 20, 2 * S, 20 * D);
    settle_told(&s, &rule, 0, 0); /* pours again */
    assert_in_range(rest(S / 50, 90 * D), 930000, 1000000);
    settle_told(&s, &rule, now - 2 * S, 1000 * D);
    rule.told_us = UINT32_MAX;
    assert_in_range(rest(S / 50, 120 * D), 930000, 1000000);
    rule.division = 0;
    settle_told(&s, &rule, now, INT64_MAX);
    assert_int_equal(s.tail_us, 0);
}

static void the_rule_by_a_profile(void **state)
{
    struct profile p = {.period_ms = 100, .silent_ms = 3000};

    (void)state;
    rule = settle_rule_for(&p, D);
    assert_true(rule.division == D && rule.gap_us == 450000 && rule.silent_us == 3000000);
    assert_true(rule.window_us == 0 && rule.veto_us == 0);
    p.period_ms = 301;
    assert_int_equal(settle_rule_for(&p, D).gap_us, 451500);
    p.period_ms = 1000;
    rule = settle_rule_for(&p, D);
    assert_in_range(rest(S, 40 * D), 3000000, 5000000);
    p = (struct profile){.period_ms = UINT32_MAX, .silent_ms = UINT32_MAX};
    rule = settle_rule_for(&p, D);
    assert_true(rule.gap_us == UINT32_MAX && rule.silent_us == UINT32_MAX);
}

/* How many of so many readings are settled; by chance on the mass or `up` above it. */
static unsigned settled_of(unsigned n, mass_pg mass, mass_pg up, unsigned one_in)
{
    static uint64_t seed = 9;
    unsigned settled = 0;

    for (unsigned i = 0; i < n; i++)
        settled += next(S / 10, mass + (chance_below(&seed, one_in) ? 0 : up), READING_UNKNOWN) == SETTLE_SETTLED;
    return settled;
}

static void a_flicker_between_two_divisions_is_still(void **state)
{
    unsigned settled = 0;

    (void)state;
    settled_of(30, 40 * D, D, 2);
    for (int i = 0; i < 1000; i++) /* by turns */
        settled += next(S / 10, (40 + i % 2) * D, READING_UNKNOWN) == SETTLE_SETTLED;
    assert_in_range(settled, 900, 1000);
    assert_in_range(settled_of(1000, 40 * D, D, 2), 600, 1000); /* by chance */
    assert_in_range(settled_of(1000, 40 * D, D, 8), 750, 1000); /* mostly the lower one... */
    settled = 0;
    for (int i = 0; i < 200; i++) /* ...then the higher one is off */
        if (next(S / 10, (40 + !(i % 8)) * D, READING_UNKNOWN) == SETTLE_SETTLED)
            settled += s.newest.mass == 41 * D;
    assert_int_equal(settled, 0);
    assert_int_equal(next(S / 10, 44 * D, READING_UNKNOWN), SETTLE_MOVING);
}

/* Three divisions of flicker want twice the window and a figure near their middle; four never settle. */
static void a_noisy_platform(void **state)
{
    static const mass_pg wave[] = {0, 2, 1, 3, 1, 2, 0, 1, 3, 2};
    unsigned settled = 0, off = 0;

    (void)state;
    for (int i = 0; i < 500; i++)
        if (next(S / 10, (40 + wave[i % 10]) * D, READING_UNKNOWN) == SETTLE_SETTLED) {
            settled++;
            off += wave[i % 10] == 0 || wave[i % 10] == 3;
            assert_true(i >= 31);
        }
    assert_in_range(settled, 50, 400);
    assert_int_equal(off, 0);
    for (int i = 0; i < 500; i++)
        assert_int_equal(
            next(S / 10, (40 + wave[i % 10] + (wave[i % 10] == 3)) * D + (i ? 0 : 90 * D), READING_UNKNOWN),
            SETTLE_MOVING);
}

/* A flicker that drifts by less than noise may: the figure on the side that it comes from is an old one. */
static void a_trickle_lifts_a_flicker(void **state)
{
    static const mass_pg rises[26] = {0, 0, 0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0, 1, 0, 1, 0, 1, 0};

    (void)state;
    for (int i = 0; i < 25; i++)
        next(S / 10, (40 + rises[i]) * D, READING_UNKNOWN);
    assert_int_equal(next(S / 10, 40 * D, READING_UNKNOWN), SETTLE_MOVING);
    settle_reset(&s);
    for (int i = 25; i > 0; i--)
        next(S / 10, (40 + rises[i]) * D, READING_UNKNOWN);
    assert_int_equal(next(S / 10, 40 * D, READING_UNKNOWN), SETTLE_SETTLED);
}

/* Divisions a second, from and up to rest; how many readings of the rise are settled. */
static unsigned rise(double d_s, uint64_t period, double by_d)
{
    static double at_d = 40;
    unsigned settled = 0;
    double end_d = at_d + by_d;

    while (at_d < end_d) {
        at_d += d_s * (double)period * 1e-6;
        settled += next(period, (mass_pg)(at_d + 0.5) * D, READING_UNKNOWN) == SETTLE_SETTLED;
    }
    return settled;
}

/* Whatever was poured before: a hand that goes on faster than a division a second is never taken for rest, but for the time in
 * which nothing has shown yet. */
static void a_slow_pour_is_moving(void **state)
{
    static const double before[] = {100, 10, 3};

    (void)state;
    for (unsigned k = 0; k < 3; k++)
        for (double d_s = 1.3; d_s < 6; d_s *= 1.2) {
            rise(before[k], S / 10, 30);
            assert_int_equal(rise(d_s, S / 10, 30), 0);
            rise(before[k], S / 50, 30);
            assert_int_equal(rise(d_s, S / 50, 30), 0);
        }
    rise(0.1, S / 10, 2);
    assert_true(rise(0.1, S / 10, 3) > 200); /* a tenth of it is rest */
}

/* Shown finer than a division. */
static void a_trickle_in_fine_steps(void **state)
{
    unsigned settled = 0;

    (void)state;
    for (int i = 0; i < 400; i++)
        settled += next(S / 20, (mass_pg)i * D / 16, READING_UNKNOWN) == SETTLE_SETTLED;
    assert_int_equal(settled, 0);
    for (int i = 0; i < 400; i++) /* a sixth of that is rest */
        settled += next(S / 20, 25 * D + (mass_pg)i * D / 96, READING_UNKNOWN) == SETTLE_SETTLED;
    assert_in_range(settled, 300, 400);
}

/* It may be a trickle's first: it must hold for a window. A load that comes at once need not. */
static void a_single_step_within_a_division(void **state)
{
    (void)state;
    for (int i = 0; i < 30; i++)
        next(S / 10, 40 * D, READING_UNKNOWN);
    assert_in_range(rest(S / 10, 41 * D), 1300000, 1500000);
    assert_in_range(rest(S / 10, 80 * D), 1100000, 1100000);
    assert_in_range(rest(S / 10, 2000 * D), 1100000, 1100000);
    assert_in_range(rest(S / 10, 900000 * D), 1100000, 1100000);
}

static void silence(void **state)
{
    (void)state;
    assert_int_equal(judge(now), SETTLE_SILENT);
    assert_int_equal(settle_next(&s, &rule, now), 0);
    rest(S / 10, 40 * D);
    assert_int_equal(judge(now + 450000), SETTLE_SETTLED);
    assert_int_equal(settle_next(&s, &rule, now), now + 450001);
    assert_int_equal(judge(now + 450001), SETTLE_MOVING);
    assert_int_equal(settle_next(&s, &rule, now + 450001), now + 2000001);
    assert_int_equal(judge(now + 2000000), SETTLE_MOVING);
    assert_int_equal(judge(now + 2000001), SETTLE_SILENT);
    assert_int_equal(settle_next(&s, &rule, now + 2000001), 0);
    assert_int_equal(judge(now + 3600 * S), SETTLE_SILENT);
    rule.silent_us = 300000;
    assert_int_equal(judge(now + 300001), SETTLE_SILENT); /* sooner silent than a gap */
}

/* After a break the window is new: what was seen before it counts no more. */
static void a_gap_begins_anew(void **state)
{
    (void)state;
    rest(S / 10, 40 * D);
    assert_int_equal(next(450000, 40 * D, READING_UNKNOWN), SETTLE_SETTLED);
    assert_int_equal(next(450001, 40 * D, READING_UNKNOWN), SETTLE_MOVING);
    assert_in_range(rest(S / 10, 40 * D), 1300000, 1400000); /* what it was before can't be told: a whole window */
}

/* Bytes that queued while nobody read: many lines in one read, long after the read before it. */
static void a_backlog_is_never_taken_for_now(void **state)
{
    (void)state;
    rest(S / 10, 40 * D);
    now += 5 * S;
    for (int i = 0; i < 50; i++) {
        feed_at(now, now - 5 * S, 40 * D, READING_STABLE);
        assert_int_equal(judge(now), SETTLE_MOVING);
    }
    assert_in_range(rest(S / 10, 40 * D), 1300000, 1400000);
    for (int i = 0; i < 50; i++) { /* a late drain with each of them */
        now += S / 10;
        feed_at(now, now - 450001, 40 * D, READING_STABLE);
        assert_int_equal(judge(now), SETTLE_MOVING);
    }
}

/* Several lines of one read: the last is the newest, all count for the range. */
static void lines_of_one_read(void **state)
{
    (void)state;
    rest(S / 10, 40 * D);
    now += S / 10;
    feed_at(now, now - S / 10, 40 * D, READING_UNKNOWN);
    feed_at(now, now - S / 10, 41 * D, READING_UNKNOWN);
    assert_int_equal(s.newest.mass, 41 * D);
    feed_at(now, now, 41 * D, READING_UNKNOWN); /* all within one microsecond */
    assert_int_equal(judge(now), SETTLE_MOVING);
    feed_at(now, now - S / 10, 43 * D, READING_UNKNOWN);
    feed_at(now, now - S / 10, 41 * D, READING_UNKNOWN);
    assert_int_equal(judge(now), SETTLE_MOVING);
}

static void readings_out_of_order_are_dropped(void **state)
{
    (void)state;
    rest(S / 10, 40 * D);
    feed_at(now - 1, now - 2, 90 * D, READING_UNKNOWN);
    feed_at(now - 2000000, now - 2000001, 90 * D, READING_OVER);
    assert_int_equal(judge(now), SETTLE_SETTLED);
    assert_int_equal(s.newest.mass, 40 * D);
}

static void clocks_that_jump(void **state)
{
    mass_pg got;

    (void)state;
    rest(S / 10, 40 * D);
    assert_int_equal(judge(now - 450000), SETTLE_SETTLED); /* judged a little behind the reading's own moment */
    assert_int_equal(judge(now - 450001), SETTLE_MOVING);
    assert_int_equal(judge(now - 2000001), SETTLE_SILENT);
    assert_int_equal(next(3600 * S, 40 * D, READING_UNKNOWN), SETTLE_MOVING); /* forward */
    rest(S / 10, 40 * D);
    now -= 3600 * S; /* back: begun anew, not deaf for an hour */
    assert_int_equal(next(S / 10, 50 * D, READING_UNKNOWN), SETTLE_MOVING);
    assert_in_range(rest(S / 10, 50 * D), 1300000, 1400000);
    now += S / 10; /* a read that ended before it began */
    feed_at(now, now + 1, 50 * D, READING_UNKNOWN);
    assert_int_equal(judge(now), SETTLE_MOVING);
    rest(S / 10, 50 * D);
    feed_at(UINT64_MAX, UINT64_MAX - 1, 50 * D, READING_UNKNOWN);
    assert_int_equal(judge(now), SETTLE_SILENT);
    assert_int_equal(settle_judge(&s, &rule, UINT64_MAX, &got), SETTLE_MOVING);
}

static void no_weight_breaks_the_window(void **state)
{
    static const enum reading_state none[] = {READING_OVER, READING_UNDER, READING_FAULT, READING_UNIT, READING_NOTYET};

    (void)state;
    for (size_t i = 0; i < 4; i++) {
        rest(S / 10, 40 * D);
        assert_int_equal(next(S / 10, 40 * D, none[i]), SETTLE_NOWEIGHT);
        assert_int_equal(judge(now + 2 * S), SETTLE_NOWEIGHT);
        assert_int_equal(settle_next(&s, &rule, now), now + 2 * S + 1);
        assert_int_equal(judge(now + 2 * S + 1), SETTLE_SILENT);
        assert_int_equal(next(S / 10, 40 * D, READING_UNKNOWN), SETTLE_MOVING);
        assert_in_range(rest(S / 10, 40 * D), 1300000, 1400000);
    }
}

static void the_motion_mark_vetoes_for_a_while(void **state)
{
    uint64_t begin;

    (void)state;
    while (next(S / 10, 40 * D, READING_MOVING) == SETTLE_MOVING && !s.vetoed_since)
        ;
    begin = s.vetoed_since;
    assert_int_equal(begin, now);
    assert_int_equal(settle_next(&s, &rule, now), now + 450001);
    while (now < begin + S)
        assert_int_equal(next(S / 10, 40 * D, READING_MOVING), SETTLE_MOVING);
    assert_int_equal(settle_next(&s, &rule, now), begin + S + 1);
    assert_int_equal(judge(begin + S), SETTLE_MOVING);
    assert_int_equal(judge(begin + S + 1), SETTLE_DISPUTED);
    assert_int_equal(next(S / 10, 40 * D, READING_MOVING), SETTLE_DISPUTED);
    assert_int_equal(next(S / 10, 40 * D, READING_STABLE), SETTLE_SETTLED); /* the mark gives in */
    assert_int_equal(next(S / 10, 40 * D, READING_MOVING), SETTLE_MOVING);  /* and objects anew: its time begins anew */
    assert_int_equal(judge(now - 1), SETTLE_MOVING);
    assert_int_equal(next(S / 10, 43 * D, READING_MOVING), SETTLE_MOVING);
    assert_int_equal(s.vetoed_since, 0); /* truly moving */
}

/* Once it has vetoed in vain it is not waited for again, until it has said "stable" at rest. */
static void a_mark_that_never_says_stable_vetoes_once(void **state)
{
    int disputed = 0;

    (void)state;
    for (int i = 0; i < 40; i++)
        disputed += next(S / 10, 40 * D, READING_MOVING) == SETTLE_DISPUTED;
    assert_in_range(disputed, 10, 25);
    for (int i = 0; i < 10; i++)
        assert_int_equal(next(S / 10, 80 * D, READING_MOVING), SETTLE_MOVING);
    assert_int_equal(next(S / 10, 80 * D, READING_MOVING), SETTLE_DISPUTED);
    assert_int_equal(next(S / 10, 80 * D, READING_STABLE), SETTLE_SETTLED);
    for (int i = 0; i < 15; i++)
        assert_int_equal(next(S / 10, 120 * D, READING_MOVING), SETTLE_MOVING);
}

static void a_long_rest_buys_no_dispute(void **state)
{
    (void)state;
    for (int i = 0; i < 600; i++)
        next(S / 10, 40 * D, READING_STABLE);
    assert_int_equal(next(S / 10, 40 * D, READING_MOVING), SETTLE_MOVING);
    rule.veto_us = 100000;
    assert_int_equal(next(S / 10, 40 * D, READING_MOVING), SETTLE_MOVING);
    assert_int_equal(next(S / 10, 40 * D, READING_MOVING), SETTLE_DISPUTED);
}

static void divisions_that_are_none(void **state)
{
    static const mass_pg none[] = {0, -1, INT64_MIN, 100 * PG_PER_KG + 1, INT64_MAX};

    for (size_t i = 0; i < sizeof none / sizeof *none; i++) {
        set_up(state);
        rule.division = none[i];
        for (int k = 0; k < 50; k++)
            assert_int_equal(next(S / 10, 40 * D, READING_STABLE), SETTLE_MOVING);
    }
    set_up(state);
    rule.division = 100 * PG_PER_KG;
    rest(S / 10, 90 * rule.division);
}

/* A digit changed in one line of many alike, by less than the range: neither it nor what comes behind it is believed wrong. */
static void one_damaged_digit_is_not_settled(void **state)
{
    (void)state;
    rest(S / 10, 40 * D);
    for (int i = 0; i < 20; i++) {
        assert_int_equal(next(S / 10, 40 * D + D / 5, READING_STABLE), SETTLE_MOVING);
        assert_int_equal(next(S / 10, 40 * D, READING_STABLE), SETTLE_SETTLED);
        assert_int_equal(next(S / 10, 40 * D, READING_STABLE), SETTLE_SETTLED);
    }
    assert_int_equal(next(S / 10, 40 * D + D / 5, READING_STABLE), SETTLE_MOVING);
    assert_int_equal(next(S / 10, 40 * D + D / 5, READING_STABLE), SETTLE_SETTLED); /* said twice: so it is */
}

static void masses_at_the_ends(void **state)
{
    (void)state;
    for (int i = 0; i < 60; i++)
        assert_int_equal(next(S / 10, i % 2 ? INT64_MAX : INT64_MIN, READING_STABLE), SETTLE_MOVING);
    rest(S / 10, INT64_MAX);
    assert_int_equal(next(S / 10, INT64_MAX - D / 3, READING_STABLE), SETTLE_MOVING); /* perhaps a damaged line */
    assert_int_equal(next(S / 10, INT64_MAX - D / 3, READING_STABLE), SETTLE_SETTLED);
    rest(S / 10, INT64_MIN);
    next(S / 10, INT64_MIN + D / 3, READING_STABLE);
    assert_int_equal(next(S / 10, INT64_MIN + D / 3, READING_STABLE), SETTLE_SETTLED);
    rule = (struct settle_rule){
        .division = D, .window_us = UINT32_MAX, .gap_us = UINT32_MAX, .silent_us = UINT32_MAX, .veto_us = UINT32_MAX};
    settle_reset(&s);
    for (int i = 0; i < 3; i++) /* twice the gap is 8590 s */
        assert_int_equal(next(4000 * S, D, READING_STABLE), SETTLE_MOVING);
    assert_int_equal(next(4000 * S, D, READING_STABLE), SETTLE_SETTLED);
}

/* ---- the header's rule from all readings, with no slots kept ---- */

#define MOST 4000
static struct reading all[MOST];
static unsigned count;
static uint64_t told;
static unsigned told_flow;   /* divisions a second */
static uint64_t used_up;     /* told, when that was so */
static uint64_t quiet_level; /* the newest that was held for long enough began then */

static uint64_t or_default(uint64_t value, uint64_t otherwise)
{
    return value ? value : otherwise;
}

/* Readings since the last break: index of the first. */
static unsigned unbroken(uint64_t gap)
{
    unsigned i = count - 1;

    while (i > 0 && reading_has_weight(&all[i - 1]) && all[i].at - all[i - 1].at <= gap &&
           all[i].at - all[i].since <= gap)
        i--;
    return i;
}

/* The shortest hold, and how many halves of the last two divisions' time it must be. */
static unsigned patience_by_all(uint64_t *least)
{
    unsigned doublings = 0;

    while (told_flow >= 201u << doublings)
        doublings++;
    *least = 550000 + doublings * 60000;
    if (told && told != used_up && all[count - 1].at >= told + 1200000 && *least <= 950000)
        return 4;
    *least = 950000;
    return 5;
}

/* Since when the newest level holds, how many readings, and what its last two divisions took; levels are whole divisions. */
static bool quiet_by_all(unsigned first, uint64_t window)
{
    unsigned from = count - 1, far;
    uint64_t held, took, must = window, least;
    unsigned halves = patience_by_all(&least);

    while (from > first && all[from - 1].mass == all[count - 1].mass)
        from--;
    if (quiet_level == all[from].at)
        return true;
    held = all[count - 1].at - all[from].at;
    for (far = from; far-- > first;)
        if (llabs(all[far].mass - all[from].mass) >= 2 * rule.division) {
            took = (all[from].at - all[far].at) * halves / 2;
            must = took < least ? least : took < window ? took : window;
            break;
        }
    if (count - from < 4 || held < must)
        return false;
    quiet_level = all[from].at;
    used_up = told;
    return true;
}

struct by_all {
    double sum, low, high;
    int n;
};

/* In divisions: the readings since `first` of slots oldest..newest before the newest one's. */
static struct by_all slots_by_all(unsigned first, uint64_t slot, unsigned oldest, unsigned newest)
{
    struct by_all b = {0, 1e9, -1e9, 0};

    for (unsigned i = first; i < count; i++) {
        uint64_t back = all[count - 1].at / slot - all[i].at / slot;
        double d = (double)(all[i].mass - all[first].mass) / (double)rule.division;

        if (back > oldest || back < newest)
            continue;
        b.sum += d;
        b.low = d < b.low ? d : b.low;
        b.high = d > b.high ? d : b.high;
        b.n++;
    }
    return b;
}

static double off_mean(const struct by_all *a, const struct by_all *b)
{
    return fabs(a->sum / a->n - b->sum / b->n) - 1e-9;
}

/* In eighths but for the slots; the header names them. */
struct noise_by_all {
    unsigned slots;
    double range, moved, off, lead, lag;
};

static bool noisy_by_all(unsigned first, uint64_t slot, struct noise_by_all r)
{
    unsigned third = r.slots / 3;
    struct by_all whole = slots_by_all(first, slot, r.slots - 1, 0), newer = slots_by_all(first, slot, third - 1, 0);
    struct by_all older = slots_by_all(first, slot, r.slots - 1, r.slots - third), one = newer;
    double moved, behind;

    one.sum = (double)(all[count - 1].mass - all[first].mass) / (double)rule.division;
    one.n = 1;
    if (all[count - 1].at - all[first].at < r.slots * slot || (whole.high - whole.low) * 8 > r.range || !newer.n ||
        !older.n)
        return false;
    if (newer.low > older.high + 0.25 || older.low > newer.high + 0.25)
        return false;
    moved = newer.sum / newer.n - older.sum / older.n;
    behind = (newer.sum / newer.n - one.sum) * (moved > 0 ? 1 : -1);
    if (fabs(moved) > 1e-9 && behind * 8 > r.lag + 1e-9)
        return false;
    return off_mean(&newer, &older) * 8 <= r.moved && off_mean(&one, &whole) * 8 <= r.off &&
           off_mean(&one, &newer) * 8 <= r.lead;
}

static bool rule_says_still(void)
{
    uint64_t gap = or_default(rule.gap_us, 450000), window = or_default(rule.window_us, 1380000), slot;
    unsigned first;

    window = window > 2 * gap ? window : 2 * gap;
    slot = (window + 6) / 7;
    if (!reading_has_weight(&all[count - 1]))
        return false;
    first = unbroken(gap);
    return quiet_by_all(first, window) || noisy_by_all(first, slot, (struct noise_by_all){12, 8, 4, 3, 5, 1}) ||
           noisy_by_all(first, slot, (struct noise_by_all){16, 24, 3, 4, 5, 1}) ||
           noisy_by_all(first, slot, (struct noise_by_all){16, 8, 4, 5, 5, 4});
}

/* Rests, steps, slow and fast flows, flicker, late and lost readings at every rate. */
static void the_rule_from_all_readings(void **state)
{
    uint64_t seed = 2024;
    unsigned still = 0, moving = 0;

    for (int round = 0; round < 90; round++) {
        uint64_t period = 5000 + chance_below(&seed, 350000);
        unsigned noise = (unsigned)round % 3;
        double at = 50, flow = 0;

        set_up(state);
        rule.window_us = round % 4 ? 0 : 950000 + (uint32_t)chance_below(&seed, 2000000);
        rule.gap_us = round % 5 ? 0 : 200000 + (uint32_t)chance_below(&seed, 1000000);
        count = 0;
        told = used_up = quiet_level = 0;
        while (count < 400) {
            uint64_t kind = chance_below(&seed, 100), step = period + chance_below(&seed, period / 2 + 1);

            if (kind == 0)
                step += chance_below(&seed, 1000000);
            if (kind < 4)
                flow = kind < 2 ? 0 : (double)chance_below(&seed, 60) / 10;
            at += flow * (double)step * 1e-6;
            now += step;
            if (kind > 90) {
                told = kind > 96 ? 0 : now - step;
                told_flow = (unsigned)chance_below(&seed, 1u << (kind - 80));
                settle_told(&s, &rule, told, told_flow * D);
            }
            all[count] =
                (struct reading){.mass = ((mass_pg)at + (mass_pg)chance_below(&seed, noise + 1)) * rule.division,
                                 .at = now,
                                 .since = kind == 5 ? now - 600000 : now - 100,
                                 .state = kind == 6 ? READING_OVER : READING_STABLE};
            settle_feed(&s, &rule, &all[count++]);
            assert_int_equal(s.still, rule_says_still());
            still += s.still;
            moving += !s.still;
        }
    }
    assert_in_range(still, 3000, 33000);
    assert_in_range(moving, 3000, 33000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(a_pour_then_rest_at_any_rate, set_up),
        cmocka_unit_test_setup(who_was_told_to_stop_has_stopped, set_up),
        cmocka_unit_test_setup(a_level_that_was_held_stays_so, set_up),
        cmocka_unit_test_setup(who_goes_on_after_a_rest_is_told_no_more, set_up),
        cmocka_unit_test_setup(who_was_not_told_may_go_on, set_up),
        cmocka_unit_test_setup(the_rule_by_a_profile, set_up),
        cmocka_unit_test_setup(a_flicker_between_two_divisions_is_still, set_up),
        cmocka_unit_test_setup(a_noisy_platform, set_up),
        cmocka_unit_test_setup(a_trickle_lifts_a_flicker, set_up),
        cmocka_unit_test_setup(a_slow_pour_is_moving, set_up),
        cmocka_unit_test_setup(a_trickle_in_fine_steps, set_up),
        cmocka_unit_test_setup(a_single_step_within_a_division, set_up),
        cmocka_unit_test_setup(silence, set_up),
        cmocka_unit_test_setup(a_gap_begins_anew, set_up),
        cmocka_unit_test_setup(it_rests_before_it_is_settled, set_up),
        cmocka_unit_test_setup(what_is_settled_rests, set_up),
        cmocka_unit_test_setup(a_backlog_is_never_taken_for_now, set_up),
        cmocka_unit_test_setup(lines_of_one_read, set_up),
        cmocka_unit_test_setup(readings_out_of_order_are_dropped, set_up),
        cmocka_unit_test_setup(clocks_that_jump, set_up),
        cmocka_unit_test_setup(no_weight_breaks_the_window, set_up),
        cmocka_unit_test_setup(the_motion_mark_vetoes_for_a_while, set_up),
        cmocka_unit_test_setup(a_mark_that_never_says_stable_vetoes_once, set_up),
        cmocka_unit_test_setup(a_long_rest_buys_no_dispute, set_up),
        cmocka_unit_test_setup(divisions_that_are_none, set_up),
        cmocka_unit_test_setup(one_damaged_digit_is_not_settled, set_up),
        cmocka_unit_test_setup(masses_at_the_ends, set_up),
        cmocka_unit_test(the_rule_from_all_readings),
    };
    return cmocka_run_group_tests_name("settle", tests, NULL, NULL);
}
