/* station/view.c: in which unit and with how many decimals a scale's masses are shown. */
#include "core_test.h"

#include <stdlib.h>

#include "station/inside.h"

static struct weigher w;

static void shown(struct reading r, enum mass_unit unit, unsigned places)
{
    uint8_t u = 0, p = 0;
    w.setup.scale_count = 1;
    w.scale_setups[0].division = PG_PER_G / 100;
    w.seq.scales[0].settle.newest = r;
    unit_of(&w, 0, &u, &p);
    assert_int_equal(u, unit);
    assert_int_equal(p, places);
}

static void as_the_scale_shows_them(void **state)
{
    (void)state;
    shown((struct reading){.at = 1, .state = READING_STABLE, .unit = UNIT_G, .places = 2}, UNIT_G, 2);
    shown((struct reading){.at = 1, .state = READING_MOVING, .unit = UNIT_OZ, .places = 3}, UNIT_OZ, 3);
}

/* 24.50 g to 25.00 g must not become 24 g to 25 g because nothing but "under zero" is shown now. */
static void without_a_weight_by_its_division(void **state)
{
    (void)state;
    for (unsigned s = READING_OVER; s <= READING_NOTYET; s++) {
        shown((struct reading){.at = 1, .state = (uint8_t)s, .unit = UNIT_G}, UNIT_G, 2);
        shown((struct reading){.at = 1, .state = (uint8_t)s, .unit = UNIT_KG}, UNIT_KG, 5);
        shown((struct reading){.at = 1, .state = (uint8_t)s}, UNIT_G, 2);
    }
    shown((struct reading){0}, UNIT_G, 2);
}

static void of_no_scale(void **state)
{
    uint8_t unit = 0, places = 0;
    (void)state;
    unit_of(&w, NO_SCALE, &unit, &places);
    assert_int_equal(unit, UNIT_KG);
    assert_int_equal(places, 3);
}

static void keep_lot(const char *lot)
{
    char payload[100], why[STORE_WHY];
    struct store_head head;
    snprintf(payload, sizeof payload, "{\"item\":1,\"ingredient\":\"salt\",\"lot\":\"%s\"}", lot);
    struct entry e = {.kind = "lot", .batch = "b", .person = "TH", .payload = payload};
    assert_int_equal(store_append(w.store, &e, &head, why), STORE_OK);
}

/* Asked for a lot, its newest ones; asked for a second one when the first is used up, not that one again. */
static void a_second_lot_is_another(void **state)
{
    (void)state;
    char folder[] = "/tmp/tareline-view-XXXXXX", path[100], command[100], why[STORE_WHY];
    struct item item = {.id = 1, .kind = ITEM_WEIGH, .lot = "A1002"};
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/j.db", folder);
    assert_int_equal(store_open(&w.store, path, STORE_WRITE, why), STORE_OK);
    keep_lot("A1001");
    keep_lot("A1002");
    strcpy(w.formula.ingredients[0].key, "salt");
    w.seq.items = &item;
    w.seq.item_count = 1;
    w.seq.prompt = (struct prompt){.item = 1, .answers = 1u << ANSWER_LOT};
    w.seq.prompt.ask = ASK_LOT;
    choices_make(&w);
    assert_int_equal(w.view.choice_count, 2);
    assert_string_equal(w.view.choices[0].text, "A1002");
    w.seq.prompt.ask = ASK_UNDER;
    choices_make(&w);
    assert_int_equal(w.view.choice_count, 1);
    assert_string_equal(w.view.choices[0].text, "A1001");
    store_close(w.store);
    w.store = NULL;
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    assert_int_equal(system(command), 0);
}

/* Since when Enter means yes to this weight: over the prompts, as each comes on the screen at that moment. */
static uint64_t offered(uint64_t now, enum ask ask, enum confirm_what what, bool opens)
{
    w.now = now;
    w.seq.prompt.id += opens;
    w.seq.prompt.ask = (uint8_t)ask;
    w.seq.prompt.what = (uint8_t)what;
    view_build(&w);
    return w.view.offered_at;
}

static void offered_for_one_weight_only(void **state)
{
    (void)state;
    static struct item item = {.id = 1, .kind = ITEM_WEIGH};
    static uint16_t order[] = {1};
    memset(&w, 0, sizeof w);
    w.seq.items = &item;
    w.seq.order = order;
    w.seq.item_count = 1;
    w.seq.setup = &w.setup;
    w.setup.scales = w.scale_setups;
    w.setup.formula = &w.formula;
    w.seq.prompt = (struct prompt){.item = 1, .scale = NO_SCALE};
    assert_true(offered(10, ASK_CONFIRM, WHAT_WEIGHT, true) == 10);
    assert_true(offered(20, ASK_CONFIRM, WHAT_WEIGHT, false) == 10);
    assert_true(offered(30, ASK_CONFIRM, WHAT_WEIGHT, true) == 30); /* another weight was typed */
    assert_true(offered(40, ASK_CONFIRM, WHAT_SECOND, true) == 0);
    assert_true(offered(50, ASK_CONFIRM, WHAT_WEIGHT, true) == 50);
    assert_true(offered(60, ASK_FILL, WHAT_NONE, true) == 0);
    assert_true(offered(70, ASK_CONFIRM, WHAT_WEIGHT, true) == 70);
    assert_true(offered(80, ASK_FILL, WHAT_NONE, true) == 0);
    w.view.offered_at = 85; /* it rests */
    assert_true(offered(90, ASK_CONFIRM, WHAT_WEIGHT, true) == 85);
    assert_true(offered(100, ASK_FILL, WHAT_NONE, true) == 0);
    w.view.offered_at = 105;
    w.view.prompt.item = 2;
    assert_true(offered(110, ASK_CONFIRM, WHAT_WEIGHT, true) == 110);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(as_the_scale_shows_them),
        cmocka_unit_test(without_a_weight_by_its_division),
        cmocka_unit_test(of_no_scale),
        cmocka_unit_test(a_second_lot_is_another),
        cmocka_unit_test(offered_for_one_weight_only),
    };
    return cmocka_run_group_tests_name("view", tests, NULL, NULL);
}
