/* The hand at the bench: answers, and doing by itself what the open prompt asks. */
#include "tests/unit/seq_bench.h"

#include <stdio.h>
#include <string.h>

static void give(struct event *ev, enum answer_word word)
{
    ev->kind = EV_ANSWER;
    ev->answer.prompt = B.s.prompt.id;
    ev->answer.word = (uint8_t)word;
    bench_event(ev);
}

void answer(enum answer_word word, const char *text)
{
    struct event ev = {0};
    snprintf(ev.answer.text, sizeof ev.answer.text, "%s", text);
    give(&ev, word);
}

void answer_to(uint32_t prompt, enum answer_word word)
{
    struct event ev = {.kind = EV_ANSWER};
    ev.answer.prompt = prompt;
    ev.answer.word = (uint8_t)word;
    bench_event(&ev);
}

void yes(void)
{
    answer(ANSWER_YES, "");
}

void no(void)
{
    answer(ANSWER_NO, "");
}

void done(void)
{
    answer(ANSWER_DONE, "");
}

void lot(const char *code)
{
    answer(ANSWER_LOT, code);
}

void keep(const char *reason)
{
    answer(ANSWER_KEEP, reason);
}

void spilt(uint16_t item)
{
    struct event ev = {0};
    ev.answer.item = item;
    give(&ev, ANSWER_DISCARD);
}

void value(int32_t milli)
{
    struct event ev = {0};
    ev.answer.value_milli = milli;
    give(&ev, ANSWER_VALUE);
}

void typed(mass_pg mass)
{
    struct event ev = {0};
    ev.answer.mass = mass;
    give(&ev, ANSWER_TYPED);
}

void person(const char *code, uint8_t rights)
{
    struct event ev = {0};
    snprintf(ev.answer.who.code, CAP_PERSON, "%s", code);
    ev.answer.who.rights = rights;
    give(&ev, ANSWER_PERSON);
}

void second(const char *code)
{
    struct event ev = {0};
    snprintf(ev.answer.who.code, CAP_PERSON, "%s", code);
    give(&ev, ANSWER_YES);
}

/* ---- doing what is asked ---- */

static const struct item *current(void)
{
    return sequence_item(&B.s, B.s.current);
}

mass_pg cup_of(uint8_t ingredient)
{
    const struct item *it = item_of(ingredient);
    bool small = it && it->scale < SCALES && B.scales[it->scale].capacity < KG(1);
    if (B.cup_empty[ingredient])
        return B.cup_empty[ingredient];
    if (it && it->way == WAY_BAG)
        return it->target + G(100);
    if (it && it->way == WAY_TUB)
        return small ? G(60) : G(1200);
    return small ? MG(12500) : G(850);
}

static void want_right(enum answer_word word)
{
    if (!(B.s.prompt.answers & (1u << word)))
        person("CHIEF", RIGHTS_ALL);
}

void fill_to(mass_pg net)
{
    const struct item *it = current();
    put(it->scale, it->way == WAY_BAG ? it->tare - net : it->tare + net);
}

static mass_pg wanted(const struct item *it)
{
    mass_pg most = KG(10);
    mass_pg want = it->has_band ? it->target : B.lug[it->ingredient];
    return want < most ? want : most;
}

static void help_container(const struct item *it)
{
    if (!B.s.prompt.back)
        put(it->scale, cup_of(it->ingredient));
    else
        fill_to(it->has_band ? wanted(it) / 2 : wanted(it));
    if (B.s.prompt.ask == ASK_CONTAINER && B.s.prompt.back)
        put(it->scale, it->tare); /* so little that the half of it is nothing */
}

/* A bag that holds less than is wanted: all of it, and the rest from another lot if there is one. */
static void empty_bag(const struct item *it)
{
    fill_to(it->tare - 5 * B.scales[it->scale].division);
    if (B.s.prompt.ask == ASK_FILL)
        done();
    if (B.s.prompt.ask == ASK_UNDER && (B.s.prompt.answers & TAKES(LOT)))
        lot("L2");
    if (B.s.prompt.ask != ASK_UNDER)
        return;
    want_right(ANSWER_SHORT);
    answer(ANSWER_SHORT, "the bag was empty");
    if (B.s.prompt.ask == ASK_UNDER) /* nobody here may: a fuller bag, all of it anew */
        answer(ANSWER_DISCARD, "");
}

static void help_fill(const struct item *it)
{
    mass_pg room = B.scales[it->scale].capacity - it->tare, net = wanted(it);
    if (it->way == WAY_BAG && it->tare - net < 5 * B.scales[it->scale].division) {
        empty_bag(it);
        return;
    }
    if (it->way != WAY_BAG && net > room) {
        net = room;
        if (it->kind != ITEM_MEAT || net < B.scales[it->scale].min_load) {
            answer(ANSWER_DISCARD, "a wrong tare");
            return;
        }
    }
    fill_to(net);
    if (B.s.prompt.ask == ASK_FILL && it->kind == ITEM_MEAT && it->has_band)
        done();
}

static void help_tub(void)
{
    const struct item *last = NULL;
    for (uint16_t k = 0; k < B.s.item_count; k++) {
        const struct item *it = sequence_item(&B.s, B.s.order[k]);
        if (it->kind == ITEM_WEIGH && it->way == WAY_TUB && it->status != ITEM_DISCARDED)
            last = it;
    }
    if (last && last->manner == MANNER_LIVE)
        put(last->scale, last->gross);
    yes();
}

static void help_confirm(void)
{
    B.refused = REFUSED_COUNT;
    if (B.s.prompt.what == WHAT_SECOND)
        second(seq_same(B.s.person.code, "OTHER") ? "CHIEF" : "OTHER");
    else if (B.s.prompt.what == WHAT_WEIGHT && B.s.prompt.answers == TAKES(KEEP))
        keep("no finer scale here");
    else if (B.s.prompt.what == WHAT_TUB)
        help_tub();
    else if (B.s.prompt.what == WHAT_CHANGED && !(B.s.prompt.answers & TAKES(YES)))
        answer(ANSWER_DISCARD, "it may be wrong");
    else
        yes();
    if (B.refused != REFUSED_COUNT)
        settle();
    if (B.refused == REFUSED_STALE)
        lift(B.s.prompt.scale); /* too much on it */
    if (B.s.phase == PHASE_BASIS && B.refused == REFUSED_LIMIT)
        no(); /* a planned kit is there already: more meat to it */
}

static void help_more(const struct item *it)
{
    if (it->has_band && it->net < it->low)
        yes();
    if (B.s.prompt.ask == ASK_MORE)
        no();
}

/* Everything that is broken is mended first. */
static void mend(void)
{
    bool broken = false;
    B.fail_all = false;
    B.fail_at = 0;
    for (uint8_t k = 0; k < SCALES; k++) {
        struct bench_scale *sc = &B.at[k];
        broken = broken || sc->unplugged || sc->mute || sc->unit || sc->restless || sc->keys || sc->load < 0;
        plug(k);
        sc->unit = sc->restless = false;
        sc->keys = 0;
        if (sc->load < 0)
            sc->load = 0;
    }
    if (broken)
        pass(30);
}

/* A platform that came back at another load wants to be cleared whatever else is asked. */
static void help_scale_in_doubt(uint8_t scale)
{
    if (scale < SCALES && B.s.scales[scale].doubt && B.s.prompt.ask != ASK_CLEAR)
        pass(30);
}

bool bench_help(void)
{
    if (B.s.phase == PHASE_ENDED)
        return false;
    if (B.s.storing && B.keeps_waiting)
        store_answers();
    mend();
    if (B.s.state == BATCH_PAUSED && !(B.s.started && B.s.phase <= PHASE_RESUME)) {
        answer(ANSWER_GO, "");
        return true;
    }
    help_scale_in_doubt(B.s.prompt.scale);
    return bench_try();
}

bool bench_try(void)
{
    const struct item *it = current();
    switch ((enum ask)B.s.prompt.ask) {
    case ASK_PERSON:
        person("CHIEF", RIGHTS_ALL);
        break;
    case ASK_LOT:
        lot("L1");
        break;
    case ASK_CLEAR:
        put(B.s.prompt.scale, 0);
        break;
    case ASK_CONTAINER:
        help_container(it);
        break;
    case ASK_FILL:
    case ASK_UNDER:
    case ASK_OVER:
        help_fill(it);
        break;
    case ASK_MORE:
        help_more(it);
        break;
    case ASK_CONFIRM:
        help_confirm();
        break;
    case ASK_CHECK:
        value(4000);
        break;
    default: /* ADD, INSTRUCTION, RESUME */
        want_right(ANSWER_YES);
        yes();
    }
    return B.s.phase != PHASE_ENDED;
}

void play_until(uint8_t ingredient, enum ask ask)
{
    for (unsigned k = 0; k < 1000; k++) {
        bool there = ingredient == NO_INGREDIENT || B.s.prompt.ingredient == ingredient;
        if (B.s.prompt.ask == ask && there)
            return;
        if (!bench_help())
            fail_msg("the batch ended before %s of ingredient %u", ask_text(ask), ingredient);
    }
    fail_msg("never came to %s of ingredient %u, stands at %s", ask_text(ask), ingredient,
             ask_text((enum ask)B.s.prompt.ask));
}

void play_past(uint8_t ingredient)
{
    play_until(ingredient, B.s.prompt.ask == ASK_CLEAR ? ASK_CLEAR : ASK_LOT);
    while (current() && current()->ingredient == ingredient)
        (void)bench_help();
}

void play_to_end(void)
{
    for (unsigned k = 0; k < 2000; k++) {
        if (B.s.phase == PHASE_RESUME && B.s.state == BATCH_HELD && !B.setup.people) {
            answer(ANSWER_STOP, ""); /* nobody here has a name, so nobody may release it */
            return;
        }
        if (B.s.phase == PHASE_BASIS && B.refused == REFUSED_FULL) {
            answer(ANSWER_STOP, ""); /* no room for the meat that is wanted */
            return;
        }
        if (bench_help())
            continue;
        if (B.s.state == BATCH_COMPLETE)
            return;
        assert_int_equal(B.s.state, BATCH_HELD);
        bench_restart();
    }
    bench_show();
    fail_msg("no way out");
}

void bench_show(void)
{
    const struct item *it = current();
    print_error("%s, phase %u asks %s of %s (answers %x), last refusal '%s'\n",
                batch_state_text((enum batch_state)B.s.state), B.s.phase, ask_text((enum ask)B.s.prompt.ask),
                B.s.person.code, B.s.prompt.answers, refusal_text((enum refusal_code)B.refused));
    for (uint8_t k = 0; k < SCALES; k++)
        print_error("scale %u: load %lld, link %u, doubt %d, holds %u\n", k, (long long)B.at[k].load,
                    B.s.scales[k].link, B.s.scales[k].doubt, B.s.scales[k].holds);
    if (it)
        print_error("item %u (of %u) ingredient %u kind %u status %u scale %u unfit %d tare %lld: %lld in %lld..%lld\n",
                    it->id, it->parent, it->ingredient, it->kind, it->status, it->scale, it->unfit, (long long)it->tare,
                    (long long)it->target, (long long)it->low, (long long)it->high);
}

/* ---- looking ---- */

const struct item *item_of(uint8_t ingredient)
{
    const struct item *found = NULL;
    for (uint16_t k = 0; k < B.s.item_count; k++) {
        const struct item *it = sequence_item(&B.s, B.s.order[k]);
        if (it->ingredient == ingredient)
            found = it;
    }
    return found;
}

const struct record *last_of(enum record_kind kind)
{
    for (unsigned k = B.stored_count; k-- > 0;)
        if (B.stored[k].kind == kind)
            return &B.stored[k];
    fail_msg("no %s was stored", record_kind_text(kind));
    return NULL;
}

unsigned count_of(enum record_kind kind, uint16_t item)
{
    unsigned n = 0;
    for (unsigned k = 0; k < B.stored_count; k++)
        n += B.stored[k].kind == kind && (item == 0 || B.stored[k].item == item);
    return n;
}

void expect_ask_at(enum ask ask, const char *file, int line)
{
    if (B.s.prompt.ask == ask)
        return;
    print_error("%s:%d: asks %s, expected %s\n", file, line, ask_text((enum ask)B.s.prompt.ask), ask_text(ask));
    _fail(file, line);
}

void expect_refused_at(enum refusal_code code, const char *file, int line)
{
    if (B.refused != code) {
        print_error("%s:%d: refused '%s', expected '%s'\n", file, line, refusal_text((enum refusal_code)B.refused),
                    refusal_text(code));
        _fail(file, line);
    }
    B.refused = REFUSED_COUNT;
}

void expect_notice_at(enum notice_code code, const char *file, int line)
{
    if (!B.notices[code]) {
        print_error("%s:%d: no notice %s\n", file, line, notice_text(code));
        _fail(file, line);
    }
    B.notices[code] = 0;
}

void expect_ended_at(enum batch_state state, int code, const char *file, int line)
{
    if (B.s.state == state && B.s.phase == PHASE_ENDED && B.end == code)
        return;
    print_error("%s:%d: %s, exit code %d, expected %s, %d\n", file, line, batch_state_text((enum batch_state)B.s.state),
                B.end, batch_state_text(state), code);
    _fail(file, line);
}
