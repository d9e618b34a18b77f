/* Flow: ramps with noise and jitter, lost frames, 5 to 200 readings a second, clocks that jump, and the cue. */
#include "tests/unit/core_test.h"

#include "core/flow.h"

#define MS UINT64_C(1000)
#define D (PG_PER_G / 10)

static const struct flow_rule rule = {.division = D};
static const struct flow_aim aim = {
    .tare = 85 * PG_PER_G, .target = 300 * PG_PER_G, .low = 297 * PG_PER_G, .high = 303 * PG_PER_G};

/* One scale's stream: a mass that grows steadily, shown late, rounded, noisy. */
struct stream {
    struct flow flow;
    struct flow_rule rule;
    uint64_t at, period, jitter, seed, n;
    uint64_t lose; /* of 100 frames */
    mass_pg mass, per_second, noise;
};

static struct stream stream(uint64_t period_ms, mass_pg from, mass_pg per_second)
{
    struct stream s = {.rule = rule, .at = 1000 * MS, .period = period_ms * MS, .seed = 88172645463325252u};
    s.rule.period_us = (uint32_t)s.period;
    s.mass = from;
    s.per_second = per_second;
    return s;
}

static void next(struct stream *s)
{
    uint64_t late = s->jitter ? chance_below(&s->seed, s->jitter) : 0;
    mass_pg noise = s->noise ? (mass_pg)chance_below(&s->seed, (uint64_t)(2 * s->noise)) - s->noise : 0, shown;
    uint64_t since = s->at;

    s->at += s->period;
    s->mass += s->per_second / 1000 * (mass_pg)(s->period / MS);
    if (chance_below(&s->seed, 100) < s->lose)
        return;
    assert_int_equal(mass_to_division(s->mass + noise, s->rule.division, ROUND_HALF_EVEN, &shown), FAIL_NONE);
    struct reading r = {.mass = shown, .at = s->at + late, .since = since};
    flow_feed(&s->flow, &s->rule, &r);
}

static void run(struct stream *s, uint64_t ms)
{
    for (uint64_t end = s->at + ms * MS; s->at + s->period <= end;)
        next(s);
}

static struct flow_view look(const struct stream *s)
{
    return flow_look(&s->flow, &s->rule, &aim, s->at);
}

static mass_pg apart(mass_pg a, mass_pg b)
{
    return a > b ? a - b : b - a;
}

static void test_nothing_known_at_first(void **state)
{
    (void)state;
    struct stream s = stream(100, 85 * PG_PER_G, 50 * PG_PER_G);

    assert_false(look(&s).known);
    run(&s, 200);
    assert_false(look(&s).known);
    run(&s, 200);
    assert_true(look(&s).known);
}

static void test_ramp_is_measured(void **state)
{
    static const uint64_t periods[] = {5, 10, 20, 50, 100, 150, 200, 250};
    static const mass_pg flows[] = {PG_PER_G, 10 * PG_PER_G, 200 * PG_PER_G, -40 * PG_PER_G};
    (void)state;
    for (unsigned p = 0; p < 8; p++)
        for (unsigned k = 0; k < 4; k++) {
            struct stream s = stream(periods[p], 500 * PG_PER_G, flows[k]);
            run(&s, 2000);
            struct flow_view v = look(&s);
            assert_true(v.known);
            assert_true(apart(v.per_second, flows[k]) <= 3 * v.uncertainty);
            assert_true(v.uncertainty < PG_PER_G / 2);
        }
}

/* One standard error: over many noisy ramps the true flow lies within it in about two of three, and within three of them
 * almost always. */
static void test_uncertainty_is_honest(void **state)
{
    unsigned within_one = 0, within_three = 0, runs = 0;
    (void)state;
    for (uint64_t k = 1; k <= 400; k++) {
        struct stream s = stream(40, 100 * PG_PER_G, 20 * PG_PER_G);
        s.seed = k * 7919;
        s.noise = D;
        s.jitter = 10 * MS;
        s.lose = 10;
        run(&s, 1500);
        struct flow_view v = look(&s);
        if (!v.known)
            continue;
        runs++;
        within_one += apart(v.per_second, s.per_second) <= v.uncertainty;
        within_three += apart(v.per_second, s.per_second) <= 3 * v.uncertainty;
    }
    assert_true(runs > 350);
    assert_in_range(within_one * 100 / runs, 55, 90);
    assert_in_range(within_three * 100 / runs, 94, 100); /* few readings: not quite the 99.7 of a known deviation */
}

static void test_lands_where_the_hand_stops(void **state)
{
    (void)state;
    struct stream s = stream(50, 85 * PG_PER_G, 20 * PG_PER_G);
    run(&s, 5000);
    struct flow_view v = look(&s);
    /* 95 ms of lag and 0.35 s of reaction at 20 g/s are 8.9 g. */
    assert_true(apart(v.lands, s.mass - 85 * PG_PER_G + 89 * PG_PER_G / 10) < PG_PER_G / 5);
    assert_true(apart(v.spread, 20 * PG_PER_G * 175 / 1000) < PG_PER_G / 10);
    assert_true(v.late > v.lands + v.spread);
    v = flow_look(&s.flow, &s.rule, &aim, s.at + 100 * MS); /* the reading has grown old */
    assert_true(apart(v.lands, s.mass - 85 * PG_PER_G + 109 * PG_PER_G / 10) < PG_PER_G / 5);
    s.rule.air_us = 200000;
    s.rule.lag_us = 50000;
    assert_true(apart(look(&s).lands, s.mass - 85 * PG_PER_G + 12 * PG_PER_G) < PG_PER_G / 5);
}

/* Eased off to half in each fifth of a second: it won't come as far as a steady flow would. */
static void test_a_falling_flow_lands_nearer(void **state)
{
    (void)state;
    struct stream s = stream(50, 85 * PG_PER_G, 80 * PG_PER_G);
    run(&s, 2000);
    for (unsigned k = 0; k < 8; k++) {
        s.per_second = s.per_second * 84 / 100;
        next(&s);
    }
    struct flow_view v = look(&s);
    mass_pg steady = s.mass - aim.tare + v.per_second / 1000 * 445;
    assert_true(v.per_second < 40 * PG_PER_G);
    assert_true(v.lands < steady - 2 * PG_PER_G && v.lands > s.mass - aim.tare);
}

/* The net at which each cue came first. */
static void pour(struct stream *s, mass_pg cue_at[3])
{
    cue_at[CUE_EASE] = cue_at[CUE_STOP] = 0;
    while (s->mass < 700 * PG_PER_G) {
        next(s);
        enum flow_cue cue = flow_steer(&s->flow, &s->rule, &aim, s->at);
        if (cue && !cue_at[cue])
            cue_at[cue] = s->mass - aim.tare;
    }
}

static void test_cue_comes_in_time(void **state)
{
    mass_pg at[3];
    (void)state;
    struct stream slow = stream(100, 85 * PG_PER_G, 8 * PG_PER_G);
    pour(&slow, at);
    assert_true(at[CUE_EASE] == 0); /* slow enough to be stopped in the band */
    /* lands three quarters of what lies above the target below it: 0.17 s of lag, 0.35 s of reaction */
    mass_pg lands = at[CUE_STOP] + 8 * PG_PER_G * 52 / 100;
    assert_true(lands >= aim.target - 5 * PG_PER_G / 2 && lands <= aim.target);

    struct stream fast = stream(100, 85 * PG_PER_G, 100 * PG_PER_G);
    pour(&fast, at);
    assert_true(at[CUE_EASE] > 0 && at[CUE_EASE] < at[CUE_STOP]);
    assert_true(at[CUE_EASE] + 100 * PG_PER_G * 7 / 10 <= aim.low); /* even a slow hand has eased off in time */
    assert_true(at[CUE_STOP] < aim.high);
}

static struct stream eased_off(mass_pg from, mass_pg to)
{
    struct stream s = stream(100, 85 * PG_PER_G, from);
    while (flow_steer(&s.flow, &s.rule, &aim, s.at) != CUE_EASE)
        next(&s);
    s.per_second = to;
    return s;
}

/* Who has eased off and is no longer told so pours fast again: it stays while the rest takes less than ten seconds, unless
 * the flow can be stopped in the band by now. */
static void test_ease_off_stays(void **state)
{
    (void)state;
    struct stream s = eased_off(40 * PG_PER_G, 10 * PG_PER_G);
    for (unsigned k = 0; k < 18; k++) {
        next(&s);
        assert_int_equal(flow_steer(&s.flow, &s.rule, &aim, s.at), CUE_EASE);
    }
    s = eased_off(40 * PG_PER_G, 4 * PG_PER_G);
    for (unsigned k = 0; k < 18; k++) {
        next(&s);
        flow_steer(&s.flow, &s.rule, &aim, s.at);
    }
    assert_int_equal(s.flow.cue, CUE_NONE);
    s = eased_off(140 * PG_PER_G, 11 * PG_PER_G);
    for (unsigned k = 0; k < 18; k++) {
        next(&s);
        flow_steer(&s.flow, &s.rule, &aim, s.at);
    }
    assert_int_equal(s.flow.cue, CUE_NONE);
}

/* While a flow changes it is unsure: the pouring has not ended for that, nor must it prove itself anew. */
static void test_a_change_is_no_end(void **state)
{
    (void)state;
    struct stream s = eased_off(40 * PG_PER_G, 10 * PG_PER_G);
    uint64_t since = s.flow.rise_since;
    bool unsure = false;
    for (unsigned k = 0; k < 12; k++) {
        next(&s);
        flow_steer(&s.flow, &s.rule, &aim, s.at);
        struct flow_view v = look(&s);
        unsure = unsure || v.per_second / 3 <= v.uncertainty;
        assert_int_equal(s.flow.rise_since, since);
    }
    assert_true(unsure);
}

/* What falls from high above shows late that its hand has eased off: it is believed for a while, but not for ever. */
static void test_easing_off_is_believed(void **state)
{
    (void)state;
    struct stream s = stream(100, 85 * PG_PER_G, 40 * PG_PER_G);
    run(&s, 3000);
    mass_pg net = s.mass - aim.tare, steady = net + 40 * PG_PER_G * 52 / 100;
    assert_true(apart(look(&s).lands, steady) < PG_PER_G);
    s.flow.eased_at = s.at - 300 * MS; /* seen to 0.13 s after that: 0.325 s as before, 0.195 s of a tenth */
    assert_true(apart(look(&s).lands, net + 40 * PG_PER_G * 3445 / 10000) < PG_PER_G);
    s.flow.eased_at = s.at - 1000 * MS; /* 0.21 s as before, 0.31 s of a tenth */
    assert_true(apart(look(&s).lands, net + 40 * PG_PER_G * 241 / 1000) < PG_PER_G);
    s.flow.eased_at = s.at - 1200 * MS;
    assert_true(apart(look(&s).lands, steady) < PG_PER_G);
}

/* Once little is left it is told again to who was told before, and at another filling it is forgotten. */
static void test_ease_off_is_told_again(void **state)
{
    mass_pg at[3];
    (void)state;
    struct stream s = eased_off(40 * PG_PER_G, 4 * PG_PER_G);
    while (s.mass - aim.tare < 287 * PG_PER_G) {
        next(&s);
        flow_steer(&s.flow, &s.rule, &aim, s.at);
    }
    assert_int_equal(s.flow.cue, CUE_NONE);
    while (s.mass - aim.tare < 292 * PG_PER_G) {
        next(&s);
        flow_steer(&s.flow, &s.rule, &aim, s.at);
    }
    assert_int_equal(s.flow.cue, CUE_EASE);
    s.mass = aim.tare;
    s.per_second = 0;
    for (unsigned k = 0; k < 20; k++) {
        next(&s);
        flow_steer(&s.flow, &s.rule, &aim, s.at);
    }
    s.per_second = 4 * PG_PER_G;
    pour(&s, at);
    assert_true(at[CUE_EASE] == 0 && at[CUE_STOP] > 0);
}

/* A flow too fast for the band is rather left to its hand, which slows down; but not beyond the lower edge. */
static void test_too_fast_to_fit_waits(void **state)
{
    mass_pg at[3];
    (void)state;
    for (mass_pg flow = 25; flow <= 100; flow += 25) {
        struct stream s = stream(100, 85 * PG_PER_G, flow * PG_PER_G);
        pour(&s, at);
        mass_pg lands = at[CUE_STOP] + flow * PG_PER_G * 52 / 100, spread = flow * PG_PER_G * 175 / 1000;
        assert_true(lands >= aim.low + spread * 17 / 10);
        assert_true(at[CUE_STOP] <= aim.low + flow * PG_PER_G / 8); /* one reading later */
    }
}

/* What shrank and grows now does not fall off: it lands beyond what is there. */
static void test_a_turn_is_no_easing_off(void **state)
{
    (void)state;
    struct stream s = stream(50, 185 * PG_PER_G, -5 * PG_PER_G);
    run(&s, 1500);
    s.per_second = 30 * PG_PER_G;
    for (unsigned k = 0; k < 12; k++) {
        next(&s);
        struct flow_view v = look(&s);
        assert_true(v.per_second < 10 * PG_PER_G || v.lands > v.net + v.per_second / 5);
    }
}

/* A regulated ingredient: even who goes on pouring as before, but stops when told, is not above it. */
static void test_nothing_above_the_limit(void **state)
{
    static const struct flow_aim cure = {
        .tare = 85 * PG_PER_G, .target = 50 * PG_PER_G, .low = 49 * PG_PER_G, .high = 50 * PG_PER_G};
    (void)state;
    for (mass_pg flow = PG_PER_G / 2; flow <= 24 * PG_PER_G; flow += PG_PER_G / 2) {
        struct stream s = stream(100, 85 * PG_PER_G, flow);
        s.rule.division = PG_PER_G / 100;
        while (flow_steer(&s.flow, &s.rule, &cure, s.at) != CUE_STOP) {
            next(&s);
            assert_true(s.mass < 140 * PG_PER_G);
        }
        /* 0.35 s of reaction and 0.1 s between two readings; the stream shows without a lag here */
        assert_true(s.mass - cure.tare + flow / 100 * 35 <= cure.high + flow / 10);
    }
}

static void test_out_of_the_bag(void **state)
{
    const struct flow_aim bag = {
        .tare = 900 * PG_PER_G, .target = 300 * PG_PER_G, .low = 297 * PG_PER_G, .high = 303 * PG_PER_G, .falls = true};
    (void)state;
    struct stream s = stream(100, 900 * PG_PER_G, -20 * PG_PER_G);
    mass_pg stopped = 0;
    while (s.mass > 550 * PG_PER_G && !stopped) {
        next(&s);
        if (flow_steer(&s.flow, &s.rule, &bag, s.at) == CUE_STOP)
            stopped = 900 * PG_PER_G - s.mass;
    }
    struct flow_view v = flow_look(&s.flow, &s.rule, &bag, s.at);
    assert_true(v.per_second > 19 * PG_PER_G && v.per_second < 21 * PG_PER_G);
    assert_true(stopped + 10 * PG_PER_G > bag.low && stopped + 10 * PG_PER_G < bag.high + 10 * PG_PER_G);
    assert_int_equal(flow_look(&s.flow, &s.rule, &aim, s.at).cue, CUE_NONE); /* for a cup it shrinks */
}

static void test_still_and_noisy_has_no_cue(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 50; seed++) {
        struct stream s = stream(50, 384 * PG_PER_G, 0); /* just below the target */
        s.seed = seed * 104729;
        s.noise = D;
        for (unsigned k = 0; k < 200; k++) {
            next(&s);
            assert_int_equal(flow_steer(&s.flow, &s.rule, &aim, s.at), CUE_NONE);
        }
    }
}

static void test_cue_does_not_chatter(void **state)
{
    unsigned changes = 0;
    enum flow_cue last = CUE_NONE;
    (void)state;
    struct stream s = stream(50, 85 * PG_PER_G, 60 * PG_PER_G);
    s.noise = 2 * D;
    for (unsigned k = 0; k < 160; k++) {
        /* the flow flutters by half to both sides */
        s.per_second = (k / 2) % 2 ? 90 * PG_PER_G : 30 * PG_PER_G;
        next(&s);
        enum flow_cue cue = flow_steer(&s.flow, &s.rule, &aim, s.at);
        changes += cue != last;
        last = cue;
    }
    assert_in_range(changes, 1, 4); /* of 80 turns of the flow */
}

static void test_cue_goes_after_its_hold(void **state)
{
    (void)state;
    struct stream s = stream(100, 85 * PG_PER_G, 40 * PG_PER_G);
    while (flow_steer(&s.flow, &s.rule, &aim, s.at) != CUE_STOP)
        next(&s);
    s.per_second = 0;
    run(&s, 500);
    assert_int_equal(flow_steer(&s.flow, &s.rule, &aim, s.at), CUE_STOP);
    uint64_t then = flow_next(&s.flow, &s.rule, s.at);
    assert_true(then > s.at);
    run(&s, 500);
    assert_int_equal(flow_steer(&s.flow, &s.rule, &aim, s.at), CUE_NONE);
    assert_true(flow_next(&s.flow, &s.rule, s.at) == 0);
}

static void steer(struct stream *s, uint64_t ms)
{
    for (uint64_t end = s->at + ms * MS; s->at < end;) {
        next(s);
        flow_steer(&s->flow, &s->rule, &aim, s->at);
    }
}

/* Until it says stop. */
static struct stream stopped(void)
{
    struct stream s = stream(50, 85 * PG_PER_G, 40 * PG_PER_G);

    while (s.flow.cue != CUE_STOP) {
        assert_true(s.flow.stopped_at == 0);
        steer(&s, 50);
    }
    return s;
}

static void test_a_stop_is_remembered(void **state)
{
    (void)state;
    struct stream s = stopped();
    uint64_t when = s.at;
    steer(&s, 300); /* goes on saying so */
    s.per_second = 0;
    steer(&s, 10000);
    assert_int_equal(s.flow.cue, CUE_NONE);
    assert_true(s.flow.stopped_at == when);
    assert_true(apart(s.flow.stopped, 40 * PG_PER_G) < 5 * PG_PER_G);
    s.mass += PG_PER_G / 20; /* half a division more is no flow */
    steer(&s, 2000);
    assert_true(s.flow.stopped_at == when);
}

static void test_a_stop_is_forgotten_when_it_goes_on(void **state)
{
    (void)state;
    static const mass_pg flows[] = {-20 * PG_PER_G, 3 * PG_PER_G};
    for (unsigned k = 0; k < 2; k++) {
        struct stream s = stopped();
        s.mass -= 150 * PG_PER_G; /* much was taken out at once: not to be stopped any more */
        s.per_second = 0;
        steer(&s, 1000);
        s.flow.stopped_at = 1;
        s.per_second = flows[k];
        steer(&s, 2000);
        assert_true(s.flow.stopped_at == 0);
    }
}

static void test_cue_goes_with_the_readings(void **state)
{
    (void)state;
    struct stream s = stream(100, 85 * PG_PER_G, 40 * PG_PER_G);
    while (flow_steer(&s.flow, &s.rule, &aim, s.at) != CUE_STOP)
        next(&s);
    uint64_t then = flow_next(&s.flow, &s.rule, s.at);
    assert_true(then == s.at + 360001);
    assert_int_equal(flow_steer(&s.flow, &s.rule, &aim, then - 1), CUE_STOP);
    assert_int_equal(flow_steer(&s.flow, &s.rule, &aim, then), CUE_NONE);
    assert_false(flow_look(&s.flow, &s.rule, &aim, then).known);
}

static void test_seldom_or_settled_only_tells_nothing(void **state)
{
    (void)state;
    struct stream s = stream(251, 85 * PG_PER_G, 40 * PG_PER_G);
    run(&s, 5000);
    assert_false(look(&s).known);
    s = stream(100, 85 * PG_PER_G, 40 * PG_PER_G);
    run(&s, 5000);
    assert_true(look(&s).known);
    s.rule.mute = true;
    assert_false(look(&s).known);
    assert_int_equal(flow_steer(&s.flow, &s.rule, &aim, s.at), CUE_NONE);
}

/* A profile may promise more readings than come: then there are gaps, and nothing is known. */
static void test_fewer_than_promised(void **state)
{
    (void)state;
    struct stream s = stream(400, 85 * PG_PER_G, 40 * PG_PER_G);
    s.rule.period_us = 100000;
    for (unsigned k = 0; k < 30; k++) {
        next(&s);
        assert_false(look(&s).known);
    }
}

static void test_breaks_begin_anew(void **state)
{
    (void)state;
    struct stream s = stream(100, 85 * PG_PER_G, 40 * PG_PER_G);
    run(&s, 2000);
    struct stream t = s;
    t.at += 400 * MS; /* a gap */
    next(&t);
    assert_false(look(&t).known);

    t = s;
    struct reading r = {.mass = 0, .at = s.at + 100 * MS, .since = s.at, .state = READING_OVER};
    flow_feed(&t.flow, &t.rule, &r); /* no weight */
    assert_false(flow_look(&t.flow, &t.rule, &aim, r.at).known);

    t = s;
    r = (struct reading){.mass = s.mass, .at = s.at + 100 * MS, .since = s.at - 500 * MS};
    flow_feed(&t.flow, &t.rule, &r); /* it may have waited */
    assert_false(flow_look(&t.flow, &t.rule, &aim, r.at).known);

    t = s;
    r = (struct reading){.mass = s.mass, .at = s.at + 100 * MS, .since = s.at + 200 * MS};
    flow_feed(&t.flow, &t.rule, &r); /* a since that can't be */
    assert_false(flow_look(&t.flow, &t.rule, &aim, r.at).known);

    flow_reset(&s.flow);
    assert_false(look(&s).known);
}

static void test_out_of_order_is_dropped(void **state)
{
    (void)state;
    struct stream s = stream(100, 85 * PG_PER_G, 40 * PG_PER_G);
    run(&s, 2000);
    struct flow before = s.flow;
    struct reading r = {.mass = 0, .at = s.at - 300 * MS, .since = s.at - 400 * MS};
    flow_feed(&s.flow, &s.rule, &r);
    assert_memory_equal(&before, &s.flow, sizeof before);
}

static void test_clock_that_jumps(void **state)
{
    (void)state;
    struct stream s = stream(100, 85 * PG_PER_G, 40 * PG_PER_G);
    s.at = UINT64_C(1) << 40;
    run(&s, 2000);
    s.at -= 3600 * 1000 * MS;
    next(&s);
    assert_false(look(&s).known);
    run(&s, 2000);
    assert_true(apart(look(&s).per_second, 40 * PG_PER_G) < PG_PER_G);
    s.at += 3600 * 1000 * MS;
    assert_false(look(&s).known);
    next(&s);
    assert_false(look(&s).known);
    s.at = UINT64_MAX - 5000 * MS;
    run(&s, 2000);
    assert_true(look(&s).known);
}

static void test_impossible_rules_and_aims(void **state)
{
    static const mass_pg divisions[] = {0, -1, INT64_MIN, INT64_MAX, 101 * PG_PER_KG};
    (void)state;
    struct stream s = stream(100, 85 * PG_PER_G, 40 * PG_PER_G);
    run(&s, 2000);
    for (unsigned k = 0; k < 5; k++) {
        struct flow_rule bad = s.rule;
        bad.division = divisions[k];
        assert_false(flow_look(&s.flow, &bad, &aim, s.at).known);
    }
    static const struct flow_aim aims[] = {
        {.target = 2, .low = 3, .high = 4},
        {.target = 5, .low = 3, .high = 4},
        {.tare = INT64_MIN},
        {.low = INT64_MIN},
        {.target = INT64_MAX, .high = INT64_MAX},
    };
    for (unsigned k = 0; k < 5; k++)
        assert_false(flow_look(&s.flow, &s.rule, &aims[k], s.at).known);
}

/* Whatever comes in, nothing wraps (the sanitizers look on) and what is told lies within the reach of a mass. */
static void test_anything_at_all(void **state)
{
    uint64_t seed = 4711;
    (void)state;
    for (unsigned round = 0; round < 3000; round++) {
        struct flow f;
        struct flow_rule any = {.division = chance_signed(&seed), .period_us = (uint32_t)chance_bits(&seed, 18)};
        uint64_t at = chance_bits(&seed, 63) + 1;
        flow_reset(&f);
        any.lag_us = (uint32_t)chance_bits(&seed, 32);
        any.reaction_us = (uint32_t)chance_bits(&seed, 32);
        for (unsigned k = 0; k < 12; k++) {
            struct reading r = {.mass = chance_signed(&seed), .at = at, .since = at - chance_bits(&seed, 19)};
            struct flow_aim a = {chance_signed(&seed), chance_signed(&seed), chance_signed(&seed), chance_signed(&seed),
                                 chance(&seed) & 1};
            r.state = chance_below(&seed, 20) ? READING_UNKNOWN : READING_FAULT;
            flow_feed(&f, &any, &r);
            struct flow_view v = flow_look(&f, &any, &a, at + chance_bits(&seed, 20));
            assert_true(v.uncertainty >= 0);
            assert_true(v.known || (v.cue == CUE_NONE && v.lands == 0 && v.per_second == 0));
            (void)flow_steer(&f, &any, &a, at);
            (void)flow_next(&f, &any, at);
            at += chance_bits(&seed, 18);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_nothing_known_at_first),
        cmocka_unit_test(test_ramp_is_measured),
        cmocka_unit_test(test_uncertainty_is_honest),
        cmocka_unit_test(test_lands_where_the_hand_stops),
        cmocka_unit_test(test_a_falling_flow_lands_nearer),
        cmocka_unit_test(test_cue_comes_in_time),
        cmocka_unit_test(test_ease_off_stays),
        cmocka_unit_test(test_a_change_is_no_end),
        cmocka_unit_test(test_easing_off_is_believed),
        cmocka_unit_test(test_ease_off_is_told_again),
        cmocka_unit_test(test_too_fast_to_fit_waits),
        cmocka_unit_test(test_a_turn_is_no_easing_off),
        cmocka_unit_test(test_nothing_above_the_limit),
        cmocka_unit_test(test_out_of_the_bag),
        cmocka_unit_test(test_still_and_noisy_has_no_cue),
        cmocka_unit_test(test_cue_does_not_chatter),
        cmocka_unit_test(test_cue_goes_after_its_hold),
        cmocka_unit_test(test_a_stop_is_remembered),
        cmocka_unit_test(test_a_stop_is_forgotten_when_it_goes_on),
        cmocka_unit_test(test_cue_goes_with_the_readings),
        cmocka_unit_test(test_seldom_or_settled_only_tells_nothing),
        cmocka_unit_test(test_fewer_than_promised),
        cmocka_unit_test(test_breaks_begin_anew),
        cmocka_unit_test(test_out_of_order_is_dropped),
        cmocka_unit_test(test_clock_that_jumps),
        cmocka_unit_test(test_impossible_rules_and_aims),
        cmocka_unit_test(test_anything_at_all),
    };
    return cmocka_run_group_tests_name("flow", tests, NULL, NULL);
}
