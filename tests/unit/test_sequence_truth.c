/* Zero and tare truth: what happens to a scale in mid-weighing, one row a case. Each is caught with its own notice, and where
 * the truth is lost nothing is accepted before a person has seen the platform empty; and what an ordinary hand does is not.
 * The mass in the cup is known here throughout: whatever is accepted must be it. */
#include "tests/unit/seq_bench.h"

#include <string.h>

#define CUP MG(12500)
#define HALF G(10)
#define WANT MG(24900)

enum marks { MARKED, MARKLESS, STUCK };

static void begin_at_half(enum marks marks, uint8_t unit)
{
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    B.at[FINE].markless = marks == MARKLESS;
    B.at[FINE].stuck = marks == STUCK;
    B.at[FINE].names = unit;
    bench_begin();
    person("AB", RIGHTS_ALL);
    play_until(CURE, ASK_FILL);
    fill_to(HALF);
    memset(B.notices, 0, sizeof B.notices);
}

/* ---- what happens to the scale ---- */

static void idle_timer_under_load(void)
{
    B.at[FINE].mute = true;
    pass(30);
    B.at[FINE].mute = false;
    B.at[FINE].zero = B.at[FINE].load;
    settle();
}

static void unplugged_and_zeroed(void)
{
    unplug(FINE);
    B.at[FINE].zero = B.at[FINE].load;
    plug(FINE);
    settle();
}

static void boot_lines_under_load(void)
{
    B.at[FINE].faulty = true;
    pass(10);
    B.at[FINE].faulty = false;
    B.at[FINE].zero = B.at[FINE].load;
    settle();
}

static void short_hole_under_load(void) /* back before it counts as silent */
{
    B.at[FINE].mute = true;
    pass(15);
    expect_quiet(NOTICE_SILENT);
    B.at[FINE].mute = false;
    B.at[FINE].zero = B.at[FINE].load;
    settle();
}

static void tare_key(void)
{
    B.at[FINE].keys = B.at[FINE].load;
    settle();
}

static void tare_key_and_off(void) /* its net word goes when it is zeroed too */
{
    tare_key();
    B.at[FINE].keys = 0;
    B.at[FINE].zero = B.at[FINE].load;
    settle();
}

static void tare_key_while_pouring(void)
{
    for (int k = 0; k < 10; k++) {
        B.at[FINE].load += G(1);
        if (k == 5)
            B.at[FINE].keys = B.at[FINE].load;
        pass(1);
    }
    settle();
}

static void zero_key(void) /* no word in the line */
{
    B.at[FINE].zero = B.at[FINE].load;
    settle();
}

static void zero_key_then_negative(void)
{
    zero_key();
    B.at[FINE].load = 0;
    settle();
}

static void zero_key_then_under(void) /* so far below that the scale shows no figure */
{
    zero_key();
    B.at[FINE].load = -KG(2);
    settle();
    B.at[FINE].load = 0;
    B.at[FINE].zero = 0;
    settle();
}

static void to_pounds(void)
{
    B.at[FINE].num = 220462262;
    B.at[FINE].den = 100000000;
    settle();
}

static void from_pounds(void)
{
    B.at[FINE].num = 45359237;
    B.at[FINE].den = 100000000;
    settle();
}

static void from_grams_to_ounces(void)
{
    B.at[FINE].num = 10000000;
    B.at[FINE].den = 283495231;
    settle();
}

static void to_pounds_and_back(void)
{
    to_pounds();
    expect_ask(ASK_CLEAR);
    B.at[FINE].den = 0;
    settle();
    expect_ask(ASK_FILL);
}

static void names_ounces(void)
{
    B.at[FINE].names = UNIT_OZ;
    B.at[FINE].step = MG(20);
    settle();
}

static void names_coarse_kilograms(void)
{
    B.at[FINE].names = UNIT_KG;
    B.at[FINE].step = G(1);
    settle();
}

static void scrap_was_zeroed_in(void) /* something lay there when it was zeroed, and leaves with the cup */
{
    B.at[FINE].zero = G(3);
    B.at[FINE].load = 0;
    settle();
}

/* ---- what an ordinary hand does ---- */

static void nothing(void)
{
    pass(50);
}

static void bump(void)
{
    B.at[FINE].load += G(200);
    pass(1);
    B.at[FINE].load -= G(200);
    settle();
}

static void knocked_from_below(void) /* "under zero" for a moment */
{
    B.at[FINE].load -= KG(2);
    pass(5);
    B.at[FINE].load += KG(2);
    settle();
}

static void vibration(void)
{
    for (int k = 0; k < 60; k++) {
        B.at[FINE].load += k % 2 ? MG(30) : -MG(30);
        pass(1);
    }
    settle();
}

static void at_the_bin(void) /* lifted off, filled there, put back */
{
    lift(FINE);
    pass(40);
    put(FINE, CUP + G(20));
}

static void put_back_slowly(void)
{
    lift(FINE);
    for (int k = 1; k <= 15; k++) {
        B.at[FINE].load = (CUP + G(15)) / 15 * k;
        pass(1);
    }
    settle();
}

static void heavy_lumps(void)
{
    for (int k = 0; k < 3; k++)
        put(FINE, B.at[FINE].load + G(4));
}

static void scooped_out(void)
{
    for (int k = 0; k < 4; k++)
        put(FINE, B.at[FINE].load - MG(2500));
}

static void same_load_after_silence(void)
{
    B.at[FINE].mute = true;
    pass(30);
    B.at[FINE].mute = false;
    pass(30);
}

static void lost_lines(void)
{
    for (int k = 0; k < 5; k++) {
        B.at[FINE].mute = true;
        pass(7);
        B.at[FINE].mute = false;
        pass(2);
    }
    settle();
}

static void over_capacity_for_a_moment(void)
{
    B.at[FINE].load += KG(1);
    pass(3);
    B.at[FINE].load -= KG(1);
    settle();
}

static const struct {
    const char *name;
    void (*act)(void);
    uint8_t marks;
    uint8_t unit;   /* of its line */
    uint8_t notice; /* NOTICE_COUNT: none of those about the truth */
    bool lost;
} rows[] = {
    {"idle timer under load", idle_timer_under_load, MARKED, UNIT_G, NOTICE_LOST, true},
    {"unplugged, zeroed under load", unplugged_and_zeroed, MARKED, UNIT_G, NOTICE_LOST, true},
    {"boot lines under load", boot_lines_under_load, MARKED, UNIT_G, NOTICE_LOST, true},
    {"restart shorter than the silence", short_hole_under_load, MARKED, UNIT_G, NOTICE_LOST, true},
    {"the same without a mark", short_hole_under_load, MARKLESS, UNIT_G, NOTICE_LOST, true},
    {"tare key with a word", tare_key, MARKED, UNIT_G, NOTICE_TARED, false},
    {"tare key, then zeroed", tare_key_and_off, MARKED, UNIT_G, NOTICE_TARED, true},
    {"tare key while pouring", tare_key_while_pouring, MARKED, UNIT_G, NOTICE_TARED, false},
    {"zero key without a word", zero_key, MARKED, UNIT_G, NOTICE_KEYS, true},
    {"zero key without a word or mark", zero_key_then_negative, MARKLESS, UNIT_G, NOTICE_ZERO, true},
    {"zero key, then no figure", zero_key_then_under, MARKLESS, UNIT_G, NOTICE_ZERO, true},
    {"zero key, a mark that lies", zero_key_then_negative, STUCK, UNIT_G, NOTICE_ZERO, true},
    {"kg to lb, unnamed", to_pounds, MARKED, UNIT_KG, NOTICE_FACTOR, true},
    {"kg to lb, unnamed, no mark", to_pounds, MARKLESS, UNIT_KG, NOTICE_FACTOR, true},
    {"lb to kg, unnamed", from_pounds, MARKED, UNIT_LB, NOTICE_FACTOR, true},
    {"g to oz, unnamed", from_grams_to_ounces, MARKED, UNIT_G, NOTICE_FACTOR, true},
    {"kg to lb and back", to_pounds_and_back, MARKED, UNIT_KG, NOTICE_FACTOR, false},
    {"another unit, named", names_ounces, MARKED, UNIT_G, NOTICE_CONVERTED, false},
    {"a named unit too coarse", names_coarse_kilograms, MARKED, UNIT_G, NOTICE_COARSE, false},
    {"zeroed with scrap on it", scrap_was_zeroed_in, MARKED, UNIT_G, NOTICE_ZERO, true},
    {"nothing", nothing, MARKED, UNIT_G, NOTICE_COUNT, false},
    {"bump", bump, MARKED, UNIT_G, NOTICE_COUNT, false},
    {"bump, no mark", bump, MARKLESS, UNIT_G, NOTICE_COUNT, false},
    {"knocked from below", knocked_from_below, MARKED, UNIT_G, NOTICE_COUNT, false},
    {"vibration", vibration, MARKED, UNIT_G, NOTICE_COUNT, false},
    {"filled at the bin", at_the_bin, MARKED, UNIT_G, NOTICE_COUNT, false},
    {"filled at the bin, no mark", at_the_bin, MARKLESS, UNIT_G, NOTICE_COUNT, false},
    {"filled at the bin, a mark that lies", at_the_bin, STUCK, UNIT_G, NOTICE_COUNT, false},
    {"put back slowly", put_back_slowly, MARKED, UNIT_G, NOTICE_COUNT, false},
    {"put back slowly, no mark", put_back_slowly, MARKLESS, UNIT_G, NOTICE_COUNT, false},
    {"heavy lumps", heavy_lumps, MARKED, UNIT_G, NOTICE_COUNT, false},
    {"scooped out", scooped_out, MARKED, UNIT_G, NOTICE_COUNT, false},
    {"silent, same load", same_load_after_silence, MARKED, UNIT_G, NOTICE_COUNT, false},
    {"lost lines", lost_lines, MARKED, UNIT_G, NOTICE_COUNT, false},
    {"over capacity for a moment", over_capacity_for_a_moment, MARKED, UNIT_G, NOTICE_COUNT, false},
};

static const uint8_t about_truth[] = {NOTICE_UNIT, NOTICE_ZERO,   NOTICE_TARED,     NOTICE_LOST,
                                      NOTICE_KEYS, NOTICE_FACTOR, NOTICE_CONVERTED, NOTICE_COARSE};

static void check_notices(const char *name, uint8_t due)
{
    for (unsigned k = 0; k < sizeof about_truth; k++) {
        uint8_t code = about_truth[k];
        unsigned most = code == due;
        if (B.notices[code] < most || (B.notices[code] > 0 && code != due))
            fail_msg("%s: %u notices %s", name, B.notices[code], notice_text((enum notice_code)code));
    }
}

/* Whatever is on the scale now, the weight must not be accepted by any word while the truth is lost. */
static void nothing_is_taken(const char *name)
{
    B.at[FINE].load = CUP + WANT;
    settle();
    for (unsigned word = 0; word < ANSWER_STOP; word++)
        if (word != ANSWER_YES || B.s.prompt.what != WHAT_EMPTY)
            answer((enum answer_word)word, "a reason");
    if (B.s.state == BATCH_PAUSED)
        answer(ANSWER_GO, "");
    if (item_of(CURE)->status != ITEM_TARED || count_of(REC_WEIGHED, item_of(CURE)->id))
        fail_msg("%s: accepted", name);
}

/* The way out that the station asks for, by somebody who does as told. */
static void do_as_told(uint8_t unit)
{
    struct bench_scale *sc = &B.at[FINE];
    sc->keys = 0;
    sc->den = 0;
    sc->names = unit;
    sc->step = 0;
    settle();
    sc->load = 0;
    settle();
    sc->zero = 0;
    settle();
}

static void accept_the_true_weight(const char *name)
{
    for (unsigned k = 0; k < 6 && B.s.prompt.ask != ASK_FILL; k++) {
        if (B.s.prompt.ask == ASK_CLEAR)
            lift(FINE);
        else if (B.s.prompt.what == WHAT_EMPTY)
            yes();
        else
            put(FINE, CUP + G(15));
    }
    put(FINE, CUP + WANT);
    if (B.s.prompt.ask != ASK_CONFIRM) {
        bench_show();
        fail_msg("%s: not accepted in the end", name);
    }
    yes();
    if (last_of(REC_WEIGHED)->item != item_of(CURE)->id || last_of(REC_WEIGHED)->net != WANT)
        fail_msg("%s: %lld accepted", name, (long long)last_of(REC_WEIGHED)->net);
}

static void test_every_row(void **state)
{
    (void)state;
    for (unsigned k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        begin_at_half((enum marks)rows[k].marks, rows[k].unit);
        rows[k].act();
        if (B.s.scales[FINE].lost != rows[k].lost) {
            bench_show();
            fail_msg("%s: lost %d", rows[k].name, B.s.scales[FINE].lost);
        }
        check_notices(rows[k].name, rows[k].notice);
        if (rows[k].lost)
            nothing_is_taken(rows[k].name);
        if (rows[k].notice != NOTICE_COUNT)
            do_as_told(rows[k].unit);
        accept_the_true_weight(rows[k].name);
        if (count_of(REC_EMPTIED, 0) != rows[k].lost)
            fail_msg("%s: %u times seen empty", rows[k].name, count_of(REC_EMPTIED, 0));
    }
}

/* ---- the container, and what was accepted ---- */

static void begin_at(uint8_t ingredient, enum ask ask)
{
    bench_new(BASIS_WEIGHED, 0);
    B.setup.people = true;
    bench_begin();
    person("AB", RIGHTS_ALL);
    play_until(ingredient, ask);
    memset(B.notices, 0, sizeof B.notices);
}

/* The cup of cure is weighed, lifted off, and put on again for the cheese, or on the same scale for another portion. */
static void test_same_cup_still_filled(void **state)
{
    (void)state;
    begin_at(CURE, ASK_FILL);
    fill_to(WANT);
    yes();
    spilt(item_of(CURE)->id); /* not an addition: refused */
    play_until(NO_INGREDIENT, ASK_ADD);
    play_until(NO_INGREDIENT, ASK_INSTRUCTION);

    begin_at(PORK, ASK_FILL);
    put(BENCH, G(850) + KG(4));
    yes();
    yes(); /* another lug */
    lot("P2");
    lift(BENCH);
    put(BENCH, G(850) + KG(4)); /* the same one, still full */
    expect_notice(NOTICE_FILLED);
    expect_ask(ASK_CONTAINER);
    assert_int_equal(B.s.prompt.answers, TAKES(YES));
    pass(50);
    assert_int_equal(count_of(REC_TARED, B.s.current), 0);
    lift(BENCH);
    expect_ask(ASK_CONTAINER);
    assert_int_equal(B.s.prompt.answers, 0);
    yes();
    expect_refused(REFUSED_WORD);
    put(BENCH, G(850)); /* an empty one */
    expect_ask(ASK_FILL);
    assert_false(last_of(REC_TARED)->asked);
    expect_quiet(NOTICE_FILLED);
}

static void test_half_filled_of_the_same(void **state)
{
    (void)state;
    begin_at(PORK, ASK_FILL);
    put(BENCH, G(850) + KG(4));
    yes();
    yes();
    lot("P2");
    lift(BENCH);
    put(BENCH, G(3000));
    expect_notice(NOTICE_FILLED);
    yes(); /* it is a heavier lug, and empty */
    pass(1);
    expect_ask(ASK_FILL);
    assert_true(last_of(REC_TARED)->asked);
    assert_int_equal(last_of(REC_TARED)->tare, G(3000));
}

static void test_yes_to_a_cup_that_moves(void **state)
{
    (void)state;
    begin_at(PORK, ASK_FILL);
    put(BENCH, G(850) + KG(4));
    yes();
    yes();
    lot("P2");
    lift(BENCH);
    put(BENCH, G(850) + KG(4));
    B.at[BENCH].load -= KG(1);
    pass(1);
    yes(); /* to another weight than was asked about */
    settle();
    assert_int_equal(count_of(REC_TARED, B.s.current), 0);
    expect_ask(ASK_CONTAINER);
    unplug(BENCH);
    yes();
    assert_int_equal(count_of(REC_TARED, B.s.current), 0);
}

/* A larger lug of another meat, a heavier cup on the other scale: no reason to ask. */
static void test_other_containers_are_not_asked_about(void **state)
{
    (void)state;
    begin_at(BEEF, ASK_CONTAINER);
    put(BENCH, G(2200));
    expect_ask(ASK_FILL);
    expect_quiet(NOTICE_FILLED);
    play_until(CURE, ASK_CONTAINER);
    put(FINE, G(150));
    expect_ask(ASK_FILL);
    expect_quiet(NOTICE_FILLED);
}

/* A hand on the cup while it is tared. */
static void test_hand_on_the_pan_at_the_tare(void **state)
{
    (void)state;
    begin_at(CURE, ASK_CONTAINER);
    put(FINE, CUP + G(20));
    expect_ask(ASK_FILL);
    put(FINE, CUP); /* and gone */
    pass(10);
    expect_quiet(NOTICE_LIGHTER);
    pass(25);
    expect_notice(NOTICE_LIGHTER);
    assert_int_equal(B.notice_mass, G(20));
    assert_int_equal(last_of(REC_UNTARED)->net, -G(20));
    expect_ask(ASK_CLEAR);
    lift(FINE);
    expect_ask(ASK_CONTAINER);
    assert_false(B.s.prompt.back);
    put(FINE, CUP);
    fill_to(WANT);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->tare, CUP);
    assert_int_equal(last_of(REC_WEIGHED)->net, WANT);
}

static void stands_for(mass_pg load, unsigned tenths)
{
    B.at[FINE].load = load;
    pass(tenths);
}

/* The hand leaves the cup at the very moment at which it begins to pour: nothing comes to rest between the two. */
static void test_hand_at_the_tare_hidden_by_what_is_poured(void **state)
{
    (void)state;
    begin_at(CURE, ASK_CONTAINER);
    put(FINE, CUP + G(4));
    expect_ask(ASK_FILL);
    stands_for(CUP, 3);
    stands_for(CUP + G(2), 1);
    expect_quiet(NOTICE_LIGHTER);
    stands_for(CUP + G(30), 1);
    expect_notice(NOTICE_LIGHTER);
    assert_int_equal(B.notice_mass, G(4));
    assert_int_equal(last_of(REC_UNTARED)->net, -G(4));
    expect_ask(ASK_CLEAR);
    lift(FINE);
    expect_ask(ASK_CONTAINER);
    put(FINE, CUP + G(30)); /* not emptied: it is not tared so */
    expect_notice(NOTICE_FILLED);
    expect_ask(ASK_CONTAINER);
    lift(FINE);
    put(FINE, CUP);
    expect_ask(ASK_FILL);
    fill_to(WANT);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->tare, CUP);
    assert_int_equal(last_of(REC_WEIGHED)->net, WANT);
}

/* A knock, a cup that is taken to the bin and comes back filled, one that is touched long before: its tare stays. */
static void test_a_dip_that_is_no_hand(void **state)
{
    (void)state;
    begin_at(CURE, ASK_FILL);
    stands_for(CUP - G(4), 1); /* a knock */
    stands_for(CUP + G(3), 1);
    stands_for(CUP, 30);
    stands_for(CUP - G(2), 1); /* taken off slowly */
    stands_for(CUP - G(3), 1);
    stands_for(CUP - G(5), 1);
    stands_for(CUP / 4, 1);
    stands_for(CUP + G(3), 1); /* not quite off, and back */
    stands_for(0, 10);
    stands_for(CUP + G(3), 5); /* filled at the bin */
    stands_for(CUP, 30);
    stands_for(CUP - G(4), 3); /* tilted */
    stands_for(CUP, 25);
    stands_for(CUP + G(3), 1);
    expect_quiet(NOTICE_LIGHTER);
    put(FINE, CUP + WANT);
    yes();
    assert_int_equal(count_of(REC_UNTARED, 0), 0);
    assert_int_equal(last_of(REC_WEIGHED)->net, WANT);
}

/* Filled at the bin and set down slowly: on its way to its weight it passes what it weighed empty. */
static void test_a_cup_set_down_slowly_is_no_dip(void **state)
{
    (void)state;
    begin_at(CURE, ASK_FILL);
    stands_for(0, 25);
    stands_for(CUP - G(6), 1);
    stands_for(CUP - G(4), 1);
    stands_for(CUP - G(2), 1);
    stands_for(CUP + G(4), 1);
    expect_quiet(NOTICE_LIGHTER);
    put(FINE, CUP + WANT);
    yes();
    assert_int_equal(count_of(REC_UNTARED, 0), 0);
    assert_int_equal(last_of(REC_WEIGHED)->net, WANT);
}

/* Tilted for a moment, lifted off, and in a tub too much taken out: its tare stays. */
static void test_lighter_for_a_moment(void **state)
{
    (void)state;
    begin_at(CURE, ASK_FILL);
    put(FINE, G(5));
    pass(10);
    lift(FINE);
    pass(60);
    put(FINE, G(5));
    pass(10);
    lift(FINE);
    put(FINE, CUP + WANT);
    expect_ask(ASK_CONFIRM);
    begin_at(SALT, ASK_FILL);
    put(BENCH, B.at[BENCH].load - G(100)); /* the tub's second portion */
    pass(60);
    expect_quiet(NOTICE_LIGHTER);
    assert_int_equal(count_of(REC_UNTARED, 0), 0);
}

static void cure_accepted_with_a_hand_on_it(mass_pg hand)
{
    begin_at(CURE, ASK_FILL);
    put(FINE, CUP + WANT);
    yes();
    expect_ask(ASK_LOT);
    put(FINE, CUP + WANT - hand);
}

static void test_hand_on_the_pan_at_the_yes(void **state)
{
    (void)state;
    cure_accepted_with_a_hand_on_it(G(3));
    uint16_t cure = item_of(CURE)->id;
    expect_notice(NOTICE_CHANGED);
    assert_int_equal(B.notice_mass, -G(3));
    lot("S1");
    lift(FINE);
    expect_ask(ASK_CONFIRM);
    assert_int_equal(B.s.prompt.what, WHAT_CHANGED);
    assert_int_equal(B.s.prompt.item, cure);
    assert_int_equal(B.s.prompt.net, WANT - G(3));
    assert_int_equal(B.s.prompt.answers, TAKES(DISCARD)); /* out of its band, and regulated */
    yes();
    expect_refused(REFUSED_WORD);
    assert_int_equal(count_of(REC_STAGED, cure), 0);
    pass(50);
    expect_ask(ASK_CONFIRM);
    answer(ANSWER_DISCARD, "a hand lay on it");
    assert_int_equal(item_of(CURE)->parent, cure);
    fill_to(0);
    play_until(CURE, ASK_FILL);
    put(FINE, CUP + WANT);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, WANT);
    play_to_end();
}

/* Still in the band as it stood in the end: anybody may stand by it. */
static void test_changed_within_the_band(void **state)
{
    (void)state;
    cure_accepted_with_a_hand_on_it(MG(200));
    expect_notice(NOTICE_CHANGED);
    lot("S1");
    lift(FINE);
    assert_int_equal(B.s.prompt.what, WHAT_CHANGED);
    yes();
    assert_true(last_of(REC_STAGED)->asked);
    assert_int_equal(last_of(REC_STAGED)->net, -MG(200));
    expect_ask(ASK_CONTAINER);
    play_to_end();
}

static void test_changed_and_the_disk_is_full(void **state)
{
    (void)state;
    cure_accepted_with_a_hand_on_it(MG(200));
    lot("S1");
    lift(FINE);
    B.fail_at = 1;
    yes();
    assert_int_equal(B.s.prompt.what, WHAT_CHANGED); /* asked again */
    yes();
    assert_true(last_of(REC_STAGED)->asked);
}

/* A hand that comes and goes, a creeping drift, a bump: nothing to ask. */
static void test_hand_that_comes_and_goes(void **state)
{
    (void)state;
    cure_accepted_with_a_hand_on_it(0);
    put(FINE, CUP + WANT + G(30));
    put(FINE, CUP + WANT);
    for (int k = 0; k < 6; k++)
        put(FINE, B.at[FINE].load + MG(10));
    bump();
    lot("S1");
    lift(FINE);
    expect_ask(ASK_CONTAINER);
    assert_false(last_of(REC_STAGED)->asked);
    play_to_end();
}

/* A lug is set aside before that is asked for, and another is put there and filled: that one is nobody's change. */
static void test_lifted_off_and_another_put_there(void **state)
{
    (void)state;
    for (int seen_empty = 0; seen_empty < 2; seen_empty++) {
        begin_at(PORK, ASK_MORE);
        B.at[BENCH].load = 0;
        pass(seen_empty ? 50 : 3); /* settled there, or only in passing */
        put(BENCH, KG(2));
        put(BENCH, KG(6));
        expect_quiet(NOTICE_CHANGED);
        yes();
        lot("P2");
        lift(BENCH);
        expect_ask(ASK_CONTAINER);
        assert_false(last_of(REC_STAGED)->asked);
        play_to_end();
    }
}

/* What changed before it was lifted off is still asked. */
static void test_changed_and_lifted_off_early(void **state)
{
    (void)state;
    cure_accepted_with_a_hand_on_it(G(3));
    expect_notice(NOTICE_CHANGED);
    lift(FINE);
    put(FINE, CUP + WANT);
    lot("S1");
    lift(FINE);
    assert_int_equal(B.s.prompt.what, WHAT_CHANGED);
}

/* ---- the empty platform ---- */

static void test_drift_is_followed_and_said(void **state)
{
    (void)state;
    begin_at(CURE, ASK_LOT);
    B.at[FINE].zero = -MG(10);
    settle();
    lot("C1");
    settle();
    expect_ask(ASK_CONTAINER);
    expect_quiet(NOTICE_DRIFT);
    put(FINE, CUP);
    assert_int_equal(last_of(REC_TARED)->net, MG(10)); /* the zero that it was tared at */
    put(FINE, CUP + WANT);
    yes();
    assert_int_equal(last_of(REC_WEIGHED)->net, WANT);
    B.at[FINE].zero = -MG(20);
    lot("S1");
    lift(FINE);
    expect_ask(ASK_CONTAINER);
    expect_notice(NOTICE_DRIFT);
    assert_int_equal(B.notice_mass, MG(20));
    pass(30);
    expect_ask(ASK_CONTAINER); /* what it shows is no container */
    play_until(SEASONING, ASK_CONFIRM);
    yes();
    B.at[FINE].zero = -MG(40);
    play_until(CHEESE, ASK_FILL);
    fill_to(KG(1));
    yes();
    second("OTHER");
    lift(BENCH);
    expect_ask(ASK_CLEAR);
    lift(FINE); /* more than may be followed: crumbs, or its own zero key */
    pass(30);
    expect_ask(ASK_CLEAR);
    expect_notice(NOTICE_LOADED);
    B.at[FINE].zero = 0;
    settle();
    expect_ask(ASK_ADD);
    play_to_end();
}

static void test_drift_never_goes_far(void **state)
{
    (void)state;
    begin_at(CURE, ASK_LOT);
    B.at[FINE].zero = -MG(40);
    settle();
    lot("C1");
    pass(50);
    expect_ask(ASK_CLEAR);
    expect_notice(NOTICE_LOADED);
    assert_int_equal(B.notice_mass, MG(40));
    pass(50);
    expect_quiet(NOTICE_LOADED); /* once */
    B.at[FINE].zero = 0;
    settle();
    expect_ask(ASK_CONTAINER);
}

/* Division by division, each time that a cup is thrown away: three in all. */
static void test_drift_creeps_no_further(void **state)
{
    (void)state;
    begin_at(CURE, ASK_LOT);
    lot("C1");
    settle();
    for (int k = 1; k <= 4; k++) {
        put(FINE, CUP);
        answer(ANSWER_DISCARD, "");
        lot("C1");
        B.at[FINE].zero = -MG(10) * k;
        lift(FINE);
        expect_ask(k <= 3 ? ASK_CONTAINER : ASK_CLEAR);
    }
}

static void test_product_on_the_platform_before_the_start(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.at[BENCH].load = G(730);
    bench_begin();
    lot("P1");
    pass(20);
    expect_ask(ASK_CLEAR);
    expect_quiet(NOTICE_LOADED); /* it may be on its way off */
    pass(30);
    expect_notice(NOTICE_LOADED);
    assert_int_equal(B.notice_mass, G(730));
    lift(BENCH);
    expect_ask(ASK_CONTAINER);
}

/* Switched on with product on it: zero, until that is taken off. */
static void test_power_on_zero_with_product(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    B.at[BENCH].load = B.at[BENCH].zero = G(730);
    bench_begin();
    lot("P1");
    settle();
    expect_ask(ASK_CONTAINER);
    lift(BENCH); /* as the lug is put down, the product is seen and taken off */
    expect_notice(NOTICE_ZERO);
    expect_ask(ASK_CLEAR);
    B.at[BENCH].zero = 0;
    settle();
    assert_int_equal(B.s.prompt.what, WHAT_EMPTY);
    yes();
    expect_ask(ASK_CONTAINER);
}

/* A cup put down right after the disk was full, when no weight changes the question. */
static void test_yes_to_a_platform_loaded_meanwhile(void **state)
{
    (void)state;
    begin_at_half(MARKED, UNIT_NONE);
    idle_timer_under_load();
    lift(FINE);
    B.at[FINE].zero = 0;
    settle();
    assert_int_equal(B.s.prompt.what, WHAT_EMPTY);
    B.fail_at = 1;
    yes();
    B.at[FINE].load = CUP;
    pass(16);
    assert_int_equal(B.s.prompt.what, WHAT_EMPTY);
    yes();
    expect_refused(REFUSED_EMPTY);
    assert_int_equal(count_of(REC_EMPTIED, 0), 0);
    pass(10);
    expect_ask(ASK_CLEAR);
}

/* Shaken, bumped, drifting readings of several seeds: a whole batch says nothing about the truth. */
static void test_noise_is_no_alarm(void **state)
{
    (void)state;
    for (uint32_t seed = 1; seed <= 12; seed++) {
        bench_new(BASIS_WEIGHED, 0);
        B.who.rights = RIGHTS_ALL;
        B.noise = true;
        B.seed = seed;
        B.at[FINE].markless = seed % 2;
        B.at[BENCH].stuck = seed % 3 == 0;
        bench_begin();
        play_to_end();
        check_notices("a noisy batch", NOTICE_COUNT);
        expect_quiet(NOTICE_CHANGED);
        expect_quiet(NOTICE_LIGHTER);
        expect_quiet(NOTICE_FILLED);
        expect_quiet(NOTICE_LOADED);
        assert_int_equal(count_of(REC_EMPTIED, 0), 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_every_row),
        cmocka_unit_test(test_same_cup_still_filled),
        cmocka_unit_test(test_half_filled_of_the_same),
        cmocka_unit_test(test_yes_to_a_cup_that_moves),
        cmocka_unit_test(test_other_containers_are_not_asked_about),
        cmocka_unit_test(test_hand_on_the_pan_at_the_tare),
        cmocka_unit_test(test_hand_at_the_tare_hidden_by_what_is_poured),
        cmocka_unit_test(test_a_dip_that_is_no_hand),
        cmocka_unit_test(test_a_cup_set_down_slowly_is_no_dip),
        cmocka_unit_test(test_lighter_for_a_moment),
        cmocka_unit_test(test_hand_on_the_pan_at_the_yes),
        cmocka_unit_test(test_changed_within_the_band),
        cmocka_unit_test(test_changed_and_the_disk_is_full),
        cmocka_unit_test(test_hand_that_comes_and_goes),
        cmocka_unit_test(test_lifted_off_and_another_put_there),
        cmocka_unit_test(test_changed_and_lifted_off_early),
        cmocka_unit_test(test_drift_is_followed_and_said),
        cmocka_unit_test(test_drift_never_goes_far),
        cmocka_unit_test(test_drift_creeps_no_further),
        cmocka_unit_test(test_product_on_the_platform_before_the_start),
        cmocka_unit_test(test_power_on_zero_with_product),
        cmocka_unit_test(test_yes_to_a_platform_loaded_meanwhile),
        cmocka_unit_test(test_noise_is_no_alarm),
    };
    return cmocka_run_group_tests_name("sequence_truth", tests, NULL, NULL);
}
