/* Records that can't be: each is refused and moves nothing. A journal is believed only as far as it makes sense. */
#include "tests/unit/seq_bench.h"

#include <string.h>

static struct item items_before[CAP_ITEMS];
static uint16_t order_before[CAP_ITEMS];
static struct sequence before;

static void refuse(const struct record *r, enum fail fail)
{
    before = B.s;
    memcpy(items_before, B.items, sizeof B.items);
    memcpy(order_before, B.order, sizeof B.order);
    assert_int_equal(sequence_apply(&B.s, r), fail);
    assert_memory_equal(items_before, B.items, sizeof B.items);
    assert_memory_equal(order_before, B.order, sizeof B.order);
    assert_memory_equal(&before, &B.s, sizeof before);
}

static struct record about(enum record_kind kind, uint16_t item)
{
    const struct item *it = sequence_item(&B.s, item);
    struct record r;
    memset(&r, 0, sizeof r);
    r.kind = (uint8_t)kind;
    r.item = item;
    r.scale = it ? it->scale : NO_SCALE;
    r.ingredient = it ? it->ingredient : NO_INGREDIENT;
    return r;
}

static void no_such(enum record_kind kind, uint16_t item)
{
    struct record r = about(kind, item);
    r.net = KG(1);
    refuse(&r, FAIL_SYNTAX);
}

static void test_before_the_beginning(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    assert_int_equal(bench_init(), FAIL_NONE);
    for (unsigned kind = REC_STARTED + 1; kind <= REC_COUNT; kind++)
        no_such((enum record_kind)kind, 1);
}

static void test_twice_and_after_the_end(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    lot("P1");
    no_such(REC_STARTED, 0);
    play_to_end();
    for (unsigned kind = 0; kind <= REC_COUNT; kind++)
        no_such((enum record_kind)kind, 1);
    struct record r = about(REC_STATE, 0);
    r.state = BATCH_RUNNING;
    refuse(&r, FAIL_SYNTAX);
}

/* In the middle of a batch every kind meets every item: what it is not for is refused. */
static void test_items_of_another_kind(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(SALT, ASK_FILL);
    for (uint16_t id = 0; id <= B.s.item_count + 1; id++) {
        const struct item *it = sequence_item(&B.s, id);
        bool weighs = it && (it->kind == ITEM_MEAT || it->kind == ITEM_WEIGH);
        if (!weighs) {
            no_such(REC_LOT, id);
            no_such(REC_TARED, id);
            no_such(REC_WEIGHED, id);
            no_such(REC_STAGED, id);
            no_such(REC_DISCARDED, id);
        }
        if (!it || it->kind != ITEM_MEAT)
            no_such(REC_MORE, id);
        no_such(REC_BASIS, id); /* done already */
        if (!it || it->kind != ITEM_TUB)
            no_such(REC_TUB, id);
        if (!it || it->kind != ITEM_ADD)
            no_such(REC_ADDED, id);
        if (!it || it->kind != ITEM_INSTRUCTION)
            no_such(REC_INSTRUCTED, id);
        if (!it || it->kind != ITEM_CHECK)
            no_such(REC_CHECKED, id);
    }
    no_such(REC_COUNT, 1);
}

static void test_out_of_turn(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(CURE, ASK_FILL);
    uint16_t pork = 1, cure = item_of(CURE)->id, cheese = item_of(CHEESE)->id;
    no_such(REC_LOT, pork); /* was accepted long ago */
    no_such(REC_TARED, pork);
    no_such(REC_WEIGHED, pork);
    no_such(REC_STAGED, pork);
    no_such(REC_DISCARDED, cheese); /* not begun */
    no_such(REC_STAGED, cure);
    no_such(REC_TARED, cure);
    no_such(REC_MORE, cheese);
    play_until(NO_INGREDIENT, ASK_INSTRUCTION);
    no_such(REC_DISCARDED, cure); /* in the mixer */
}

static struct record a_weighing(uint16_t id, mass_pg net)
{
    struct record r = about(REC_WEIGHED, id);
    r.has_gross = true;
    r.tare = sequence_item(&B.s, id)->tare;
    r.gross = r.tare + net;
    r.net = net;
    return r;
}

static void test_weighings(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(CURE, ASK_FILL);
    uint16_t cure = B.s.current;
    struct record r = a_weighing(cure, G(25));
    r.scale = BENCH; /* not its scale */
    refuse(&r, FAIL_SYNTAX);
    r = a_weighing(cure, G(25));
    r.tare += G(1); /* not its container */
    refuse(&r, FAIL_SYNTAX);
    r = a_weighing(cure, G(25));
    r.ingredient = SALT;
    refuse(&r, FAIL_SYNTAX);
    r = a_weighing(cure, G(25));
    r.manner = MANNER_LABEL + 1;
    refuse(&r, FAIL_SYNTAX);
    r = a_weighing(cure, G(25));
    r.has_gross = false; /* live, but never on a platform */
    refuse(&r, FAIL_SYNTAX);
    r.manner = MANNER_TYPED;
    r.next = (uint16_t)(B.s.item_count + 1); /* a typed one is not split */
    refuse(&r, FAIL_SYNTAX);
    r = a_weighing(cure, G(10));
    r.next = 3; /* not the next id */
    refuse(&r, FAIL_SYNTAX);
    r.next = (uint16_t)(B.s.item_count + 1);
    B.s.item_cap = B.s.item_count;
    refuse(&r, FAIL_FULL);
    B.s.item_cap = CAP_ITEMS;
    r = a_weighing(item_of(CHEESE)->id, KG(1)); /* never tared */
    refuse(&r, FAIL_SYNTAX);
    r = a_weighing(cure, G(25));
    r.manner = MANNER_LABEL;
    r.has_gross = false;
    assert_int_equal(sequence_apply(&B.s, &r), FAIL_NONE); /* by label count there is no gross */
    assert_int_equal(item_of(CURE)->manner, MANNER_LABEL);
}

static void test_tares_and_ids(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(PORK, ASK_MORE);
    struct record r = about(REC_MORE, 1);
    r.next = 2;
    refuse(&r, FAIL_SYNTAX);
    r.next = (uint16_t)(B.s.item_count + 1);
    B.s.item_cap = B.s.item_count;
    refuse(&r, FAIL_FULL);
    r = about(REC_DISCARDED, 1);
    r.next = (uint16_t)(B.s.item_count + 1);
    refuse(&r, FAIL_FULL);
    B.s.item_cap = CAP_ITEMS;
    r.next = 1;
    refuse(&r, FAIL_SYNTAX);
    r.next = (uint16_t)(B.s.item_count + 1);
    r.scale = FINE;
    refuse(&r, FAIL_SYNTAX);
    play_until(CURE, ASK_CONTAINER);
    r = about(REC_TARED, B.s.current);
    r.scale = BENCH;
    refuse(&r, FAIL_SYNTAX);
    B.items[B.s.current - 1].scale = NO_SCALE; /* before there is a basis no scale is known */
    r.scale = NO_SCALE;
    refuse(&r, FAIL_SYNTAX);
}

static void test_tub_that_finds_no_room(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(NO_INGREDIENT, ASK_ADD);
    struct record r = about(REC_DISCARDED, item_of(SALT)->id);
    r.next = (uint16_t)(B.s.item_count + 1);
    B.s.item_cap = (uint16_t)(B.s.item_count + 2); /* water, salt and the comparison make three */
    refuse(&r, FAIL_FULL);
}

static void test_states(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    lot("P1");
    struct record r = about(REC_STATE, 0);
    r.state = BATCH_IDLE;
    refuse(&r, FAIL_SYNTAX);
    r.state = BATCH_ABORTED + 1;
    refuse(&r, FAIL_SYNTAX);
    r.state = BATCH_HELD;
    assert_int_equal(sequence_apply(&B.s, &r), FAIL_NONE);
    r = about(REC_BASIS, item_of(NO_INGREDIENT)->id);
    refuse(&r, FAIL_SYNTAX);
    for (uint16_t id = 1; id <= B.s.item_count; id++)
        if (sequence_item(&B.s, id)->kind == ITEM_BASIS) {
            r = about(REC_BASIS, id); /* of no meat */
            refuse(&r, FAIL_SYNTAX);
        }
    assert_null(sequence_item(&B.s, 0));
    assert_null(sequence_item(&B.s, (uint16_t)(B.s.item_count + 1)));
}

static void test_steps_twice(void **state)
{
    static const enum record_kind kinds[] = {REC_ADDED, REC_INSTRUCTED, REC_CHECKED, REC_TUB, REC_MORE};
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    no_such(REC_MORE, 1); /* not weighed yet (and the batch is not open) */
    lot("P1");
    no_such(REC_MORE, 1);
    play_until(NO_INGREDIENT, ASK_CHECK);
    value(4000);
    expect_ask(ASK_ADD);
    for (uint16_t id = 1; id <= B.s.item_count; id++)
        for (unsigned k = 0; k < 4; k++)
            if (sequence_item(&B.s, id)->status == ITEM_DONE)
                no_such(kinds[k], id);
    struct record r = about(REC_STAGED, item_of(CHEESE)->id);
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(CHEESE, ASK_CONFIRM);
    yes();
    second("OTHER");
    r = about(REC_STAGED, item_of(CHEESE)->id);
    r.scale = FINE;
    refuse(&r, FAIL_SYNTAX);
}

/* More than was wanted and yet split: nothing is left for the second lot. */
static void test_split_of_more_than_all(void **state)
{
    (void)state;
    bench_new(BASIS_WEIGHED, 0);
    bench_begin();
    play_until(CURE, ASK_FILL);
    struct record r = a_weighing(B.s.current, G(30));
    r.next = (uint16_t)(B.s.item_count + 1);
    assert_int_equal(sequence_apply(&B.s, &r), FAIL_NONE);
    assert_int_equal(item_of(CURE)->target, 0);
    assert_int_equal(item_of(CURE)->low, 0);
    assert_int_equal(item_of(CURE)->high, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_before_the_beginning),
        cmocka_unit_test(test_twice_and_after_the_end),
        cmocka_unit_test(test_items_of_another_kind),
        cmocka_unit_test(test_out_of_turn),
        cmocka_unit_test(test_weighings),
        cmocka_unit_test(test_tares_and_ids),
        cmocka_unit_test(test_tub_that_finds_no_room),
        cmocka_unit_test(test_states),
        cmocka_unit_test(test_steps_twice),
        cmocka_unit_test(test_split_of_more_than_all),
    };
    return cmocka_run_group_tests_name("sequence_apply", tests, NULL, NULL);
}
