/* A random walk: whatever is answered, weighed, unplugged, forgotten or not stored, the invariants hold at every step (the
 * bench checks them), the state is that of a twin which saw only the stored records, and there is always a way to the end
 * of the batch. SEQUENCE_WALK=SEED:EPISODES walks elsewhere or longer. */
#include "tests/unit/seq_bench.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static uint64_t seed;
static unsigned steps;

static uint32_t rnd(uint32_t below)
{
    seed = seed * 6364136223846793005u + 1442695040888963407u;
    return (uint32_t)(seed >> 33) % below;
}

static bool chance(uint32_t percent)
{
    return rnd(100) < percent;
}

static const char *const codes[] = {"AB", "CHIEF", "OTHER", ""};
static const uint8_t rights[] = {0, RIGHTS_ALL, RIGHT_ACCEPT | RIGHT_TYPE, 0};

static mass_pg some_mass(uint8_t scale)
{
    const struct item *it = sequence_item(&B.s, B.s.current);
    mass_pg division = B.scales[scale].division;
    if (!it || it->scale != scale)
        return (mass_pg)rnd(4) * division * 100;
    mass_pg edges[] = {it->target, it->low, it->high, it->low - division, it->high + division, it->target / 2, 0};
    mass_pg net = edges[rnd(7)] + ((mass_pg)rnd(3) - 1) * division * (chance(50) ? 0 : 1);
    if (!it->has_band)
        net = (mass_pg)rnd(1200) * G(5);
    if (it->status != ITEM_TARED)
        return chance(50) ? cup_of(it->ingredient == NO_INGREDIENT ? WATER : it->ingredient) : net;
    return it->way == WAY_BAG ? it->tare - net : it->tare + net;
}

static void some_load(void)
{
    uint8_t scale = (uint8_t)(B.s.prompt.scale < SCALES && chance(85) ? B.s.prompt.scale : rnd(SCALES));
    B.at[scale].load = chance(20) ? 0 : some_mass(scale);
    pass(1 + rnd(20));
}

static void some_answer(void)
{
    struct event ev = {.kind = EV_ANSWER};
    struct answer *a = &ev.answer;
    uint8_t who = (uint8_t)rnd(4);
    a->prompt = chance(95) ? B.s.prompt.id : rnd(B.s.prompt.id + 2);
    a->word = (uint8_t)rnd(ANSWER_COUNT + 1);
    if (chance(60)) /* mostly one that it takes */
        for (unsigned k = 0; k < 40 && !(B.s.prompt.answers & (1u << a->word)); k++)
            a->word = (uint8_t)rnd(ANSWER_COUNT);
    if (sequence_rests(&B.s, B.now) && chance(60))
        a->word = ANSWER_YES;
    if ((a->word == ANSWER_STOP || a->word == ANSWER_ABORT) && chance(90))
        a->word = ANSWER_PAUSE;
    a->item = (uint16_t)(chance(30) ? rnd(B.s.item_count + 2u) : 0);
    a->value_milli = (int32_t)rnd(30000) - 5000;
    a->mass =
        chance(80) && B.s.prompt.scale < SCALES ? some_mass(B.s.prompt.scale) : (mass_pg)rnd(500) * G(10) - G(100);
    snprintf(a->who.code, CAP_PERSON, "%s", codes[who]);
    a->who.rights = rights[who];
    if (chance(85))
        snprintf(a->text, sizeof a->text, "said %u", rnd(100));
    bench_event(&ev);
}

static void some_trouble(void)
{
    struct bench_scale *sc = &B.at[rnd(SCALES)];
    switch (rnd(9)) {
    case 0:
        unplug((uint8_t)(sc - B.at));
        break;
    case 1:
    case 2:
        plug((uint8_t)(sc - B.at));
        break;
    case 3:
        sc->mute = !sc->mute;
        break;
    case 4:
        sc->unit = !sc->unit;
        break;
    case 5:
        sc->restless = !sc->restless;
        break;
    case 6:
        sc->keys = sc->keys ? 0 : sc->load;
        break;
    case 7:
        B.fail_all = !B.fail_all;
        break;
    default:
        B.fail_at = 1 + rnd(3);
    }
    pass(1 + rnd(40));
}

static void some_end(void)
{
    if (B.s.phase == PHASE_ENDED && B.s.state == BATCH_HELD)
        bench_restart();
    else if (chance(30))
        bench_restart();
    else if (B.s.storing)
        store_answers();
    else
        B.keeps_waiting = chance(30);
}

static void some_setup(void)
{
    static const mass_pg meats[] = {KG(10), KG(4), KG(40), KG(18), G(12345)};
    enum meat_basis basis = (enum meat_basis)rnd(3);
    bench_new(basis, meats[rnd(5)]);
    B.lug[PORK] = KG(1 + rnd(12));
    B.lug[BEEF] = KG(1 + rnd(12));
    B.noise = chance(30);
    B.at[BENCH].markless = chance(20);
    B.setup.people = chance(50);
    B.setup.second_person = chance(50);
    B.setup.accept_auto = chance(30);
    B.setup.accept_us = 700000;
    B.item_cap = chance(30) ? 34 : CAP_ITEMS;
    B.who.rights = rights[rnd(3)];
    if (chance(30))
        B.cup_empty[CHEESE] = B.cup_off[CHEESE] = G(900);
    for (uint8_t i = 0; i < INGREDIENTS; i++)
        if (chance(20))
            B.formula.ingredients[i].ask_lot = !B.formula.ingredients[i].ask_lot;
    if (basis == BASIS_PLANNED && chance(50)) { /* kits first, meat weighed to them */
        for (uint8_t i = 0; i < INGREDIENTS; i++)
            B.formula.ingredients[i].weigh_order = (uint8_t)((i + INGREDIENTS - 2) % INGREDIENTS);
    }
    if (chance(20))
        B.formula.ingredients[CURE].critical = true;
    if (chance(20))
        B.formula.ingredients[BEEF].critical = true;
    if (chance(20) && !B.cup_empty[CHEESE])
        B.formula.ingredients[CHEESE].way = WAY_BAG;
}

static void one_action(void)
{
    uint32_t what = rnd(100);
    steps++;
    if (what < 2)
        some_end();
    else if (B.s.phase == PHASE_ENDED)
        return;
    else if (what < 32)
        (void)bench_try();
    else if (what < 45)
        (void)bench_help();
    else if (what < 62)
        some_load();
    else if (what < 88)
        some_answer();
    else if (what < 94)
        some_trouble();
    else
        pass(1 + rnd(30));
}

/* Without the hand's help a planned or declared batch of too much would be refused at once: that is a good end too. */
static void episode(void)
{
    some_setup();
    if (bench_init() != FAIL_NONE)
        return;
    bench_begin();
    unsigned actions = 30 + rnd(400);
    for (unsigned k = 0; k < actions && B.stored_count < STORED_MAX - 200; k++) {
        one_action();
        if (k % 50 == 0)
            bench_twin_agrees();
    }
    if (B.s.storing)
        store_answers();
    bench_twin_agrees();
    if (B.s.state != BATCH_STOPPED && B.s.state != BATCH_ABORTED)
        play_to_end();
    bench_twin_agrees();
}

static void test_walk(void **state)
{
    const char *other = getenv("SEQUENCE_WALK");
    unsigned long long from = 1, episodes = 120;
    (void)state;
    if (other)
        (void)sscanf(other, "%llu:%llu", &from, &episodes);
    for (unsigned long long k = 0; k < episodes; k++) {
        seed = (from + k) * 0x9E3779B97F4A7C15u;
        print_message("episode %llu\n", from + k);
        episode();
    }
    print_message("%u steps\n", steps);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_walk),
    };
    return cmocka_run_group_tests_name("sequence_walk", tests, NULL, NULL);
}
