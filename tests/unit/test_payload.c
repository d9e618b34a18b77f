/* Records to JSON and back: every field of random records, whatever the strings hold. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#include "store/payload.h"

static char folder[200], path[256], why[STORE_WHY];
static struct store *journal;
static struct formula formula;
static struct scale_setup scales[2];
static struct setup rig;
static uint64_t seed = 20250612;

static uint32_t below(uint32_t n)
{
    seed = seed * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)(seed >> 33) % n;
}

static int open_journal(void **state)
{
    (void)state;
    const char *tmp = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/tareline-payload-XXXXXX", tmp ? tmp : "/tmp");
    if (!mkdtemp(folder))
        return -1;
    snprintf(path, sizeof path, "%s/journal.db", folder);
    for (int k = 0; k < 5; k++)
        snprintf(formula.ingredients[k].key, CAP_KEY, "ingredient-%d", k);
    for (int k = 0; k < 3; k++)
        snprintf(formula.steps[k].key, CAP_KEY, "step-%d", k);
    strcpy(formula.steps[1].text[0], "Core temperature? \"\\\t\xc2\xb0"
                                     "C");
    strcpy(formula.steps[1].unit, "C");
    formula.steps[1].low_milli = CHECK_NONE;
    formula.steps[1].high_milli = 4500;
    formula.ingredient_count = 5;
    formula.step_count = 3;
    strcpy(scales[0].name, "bench");
    strcpy(scales[1].name, "fine");
    rig = (struct setup){.formula = &formula, .scales = scales, .scale_count = 2};
    return store_open(&journal, path, STORE_WRITE, why) == STORE_OK ? 0 : -1;
}

static int close_journal(void **state)
{
    (void)state;
    char command[300];
    store_close(journal);
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command) == 0 ? 0 : -1;
}

/* Anything that UTF-8 can say, control characters, quotes and all planes included. */
static void random_text(char *out, size_t cap)
{
    static const char *const pieces[] = {
        "a", "\"", "\\",      "\n", "\x01",        "\x7f", "/", "\xc3\xa4", "\xe2\x82\xac", "\xf0\x9f\xa7\x80",
        "'", "</", "\\u0041", " ",  "\xed\x9f\xbf"};
    size_t len = 0;
    out[0] = '\0';
    for (uint32_t n = below(2) ? below((uint32_t)cap) : 0; n > 0; n--) {
        const char *piece = pieces[below(sizeof pieces / sizeof pieces[0])];
        if (len + strlen(piece) >= cap)
            break;
        strcpy(out + len, piece);
        len += strlen(piece);
    }
}

static mass_pg random_mass(void)
{
    static const mass_pg edges[] = {0, 1, -1, INT64_MAX, INT64_MIN, INT64_C(9007199254740993), PG_PER_KG};
    if (below(3) == 0)
        return edges[below(sizeof edges / sizeof edges[0])];
    return (mass_pg)((uint64_t)below(UINT32_MAX) << 32 ^ (uint64_t)below(UINT32_MAX) << 8) >> below(60);
}

/* Masses that a record says are not meant stay zero: they have no place in the payload. */
static void random_record(struct record *r)
{
    memset(r, 0, sizeof *r);
    r->kind = (uint8_t)below(REC_COUNT);
    r->scale = below(3) ? (uint8_t)below(2) : NO_SCALE;
    r->ingredient = below(3) ? (uint8_t)below(5) : NO_INGREDIENT;
    bool stepped = r->kind == REC_ADDED || r->kind == REC_INSTRUCTED || r->kind == REC_CHECKED;
    r->step = stepped ? (uint8_t)below(3) : NO_STEP;
    r->verdict = (uint8_t)below(3);
    r->manner = (uint8_t)below(3);
    r->state = (uint8_t)below(7);
    r->basis = (uint8_t)below(3);
    r->disputed = below(2);
    r->agreed = below(2);
    r->known = below(2);
    r->asked = below(2);
    r->why = r->kind == REC_EMPTIED ? (uint8_t)below(NOTICE_COUNT) : 0;
    r->item = (uint16_t)below(65536);
    r->parent = (uint16_t)below(3);
    r->next = (uint16_t)below(65536);
    r->value_milli = below(2) ? (int32_t)(below(2000000) - 1000000) : below(2) ? INT32_MIN : INT32_MAX;
    r->has_band = below(2);
    r->has_gross = r->kind == REC_WEIGHED && below(2);
    if (r->has_band) {
        r->target = random_mass();
        r->low = random_mass();
        r->high = random_mass();
    }
    if (r->has_gross || r->kind != REC_WEIGHED) {
        r->gross = random_mass();
        r->tare = random_mass();
    }
    r->net = random_mass();
    random_text(r->lot, sizeof r->lot);
    random_text(r->next_lot, sizeof r->next_lot);
    random_text(r->person, sizeof r->person);
    random_text(r->second, sizeof r->second);
    random_text(r->reason, sizeof r->reason);
}

static struct entry entry_of(const struct record *r, const char *text)
{
    return (struct entry){
        .kind = record_kind_text((enum record_kind)r->kind), .batch = "b1", .person = r->person, .payload = text};
}

static void test_random_records_come_back(void **state)
{
    (void)state;
    char text[PAYLOAD_MAX];
    struct record r, back;
    for (int n = 0; n < 4000; n++) {
        random_record(&r);
        assert_true(payload_write(&r, &rig, NULL, text, sizeof text));
        struct entry e = entry_of(&r, text);
        assert_int_equal(payload_read(journal, &e, &rig, &back, NULL), STORE_OK);
        if (memcmp(&r, &back, sizeof r) != 0)
            fail_msg("%s did not come back: %s", e.kind, text);
    }
}

struct collected {
    char payload[PAYLOAD_MAX];
};

static bool collect(void *self, const struct entry *e)
{
    strcpy(((struct collected *)self)->payload, e->payload);
    return false;
}

/* Through the file as well: what SQLite keeps is the text to the byte. */
static void test_through_the_file(void **state)
{
    (void)state;
    char text[PAYLOAD_MAX];
    struct record r;
    struct collected last;
    for (int n = 0; n < 50; n++) {
        random_record(&r);
        assert_true(payload_write(&r, &rig, NULL, text, sizeof text));
        struct entry e = entry_of(&r, text);
        assert_int_equal(store_append(journal, &e, NULL, why), STORE_OK);
        assert_int_equal(store_each(journal, NULL, collect, &last), STORE_OK);
        assert_string_equal(last.payload, text);
    }
}

static void test_a_weighing_has_all_its_keys(void **state)
{
    (void)state;
    char text[PAYLOAD_MAX];
    struct record r = {.kind = REC_WEIGHED, .scale = NO_SCALE, .ingredient = 2, .item = 3, .net = 5, .step = NO_STEP};
    r.state = BATCH_RUNNING;
    r.manner = MANNER_TYPED;
    assert_true(payload_write(&r, &rig, NULL, text, sizeof text));
    assert_string_equal(text, "{\"item\":3,\"parent\":null,\"ingredient\":\"ingredient-2\",\"lot\":null,\"scale\":null,"
                              "\"gross_pg\":null,\"tare_pg\":null,\"target_pg\":null,\"low_pg\":null,\"high_pg\":null,"
                              "\"actual_pg\":5,\"verdict\":\"in\",\"manner\":\"typed\",\"reason\":null}");
}

static void test_a_check_carries_its_words(void **state)
{
    (void)state;
    char text[PAYLOAD_MAX];
    struct record r = {.kind = REC_CHECKED, .scale = NO_SCALE, .ingredient = NO_INGREDIENT, .item = 9, .step = 1};
    r.state = BATCH_RUNNING;
    r.value_milli = -1250;
    r.verdict = VERDICT_UNDER;
    assert_true(payload_write(&r, &rig, NULL, text, sizeof text));
    assert_string_equal(text, "{\"item\":9,\"step\":\"step-1\",\"text\":\"Core temperature? \\\"\\\\\\t\xc2\xb0"
                              "C\",\"unit\":\"C\",\"low\":null,\"high\":4.5,\"value\":-1.25,\"verdict\":\"under\"}");
}

static void test_a_batch_names_its_texts(void **state)
{
    (void)state;
    char text[PAYLOAD_MAX];
    struct batch_texts texts = {.formula_name = "Br\xc3\xa4t \"fein\"",
                                .formula_id = "brat",
                                .number = 2,
                                .batches = 3},
                       back;
    struct record r = {.kind = REC_STARTED, .scale = NO_SCALE, .ingredient = NO_INGREDIENT, .step = NO_STEP}, out;
    memset(texts.formula, 'a', 64);
    r.state = BATCH_RUNNING;
    r.net = 7;
    assert_true(payload_write(&r, &rig, &texts, text, sizeof text));
    struct entry e = entry_of(&r, text);
    assert_int_equal(payload_read(journal, &e, &rig, &out, &back), STORE_OK);
    assert_memory_equal(&texts, &back, sizeof texts);
    assert_memory_equal(&r, &out, sizeof r);
}

static void test_what_is_no_record(void **state)
{
    (void)state;
    static const struct {
        const char *kind, *payload;
        enum store_result result;
    } cases[] = {
        {"notice", "{}", STORE_NONE},
        {"text", "{}", STORE_NONE},
        {"sealed", "{}", STORE_NONE},
        {"weighed", "{\"later\":{\"a\":[1]},\"item\":1}", STORE_OK}, /* keys of later versions are skipped */
        {"weighed", "not json", STORE_BROKEN},
        {"weighed", "{\"item\":\"1\"}", STORE_BROKEN},
        {"weighed", "{\"item\":65536}", STORE_BROKEN},
        {"weighed", "{\"item\":-1}", STORE_BROKEN},
        {"weighed", "{\"item\":1.5}", STORE_BROKEN},
        {"weighed", "{\"actual_pg\":1.5}", STORE_BROKEN},
        {"weighed", "{\"actual_pg\":9223372036854775808}", STORE_BROKEN},
        {"weighed", "{\"verdict\":\"fine\"}", STORE_BROKEN},
        {"weighed", "{\"scale\":\"lost\"}", STORE_BROKEN},
        {"weighed", "{\"ingredient\":\"gold\"}", STORE_BROKEN},
        {"weighed", "{\"known\":1}", STORE_BROKEN},
        {"weighed", "{\"lot\":\"0123456789012345678901234567890123456789\"}", STORE_BROKEN},
        {"checked", "{\"value\":9e99}", STORE_BROKEN},
        {"checked", "{\"value\":2147483.648}", STORE_BROKEN},
        {"checked", "{\"value\":9223372036854775807}", STORE_BROKEN},
    };
    struct record out;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct entry e = {.kind = cases[i].kind, .batch = "b", .person = "", .payload = cases[i].payload};
        if (payload_read(journal, &e, &rig, &out, NULL) != cases[i].result)
            fail_msg("%s %s", cases[i].kind, cases[i].payload);
    }
}

static void test_names_need_a_setup(void **state)
{
    (void)state;
    struct record out;
    struct entry e = {.kind = "weighed",
                      .batch = "b",
                      .person = "",
                      .payload = "{\"scale\":\"lost\",\"ingredient\":\"gold\",\"actual_pg\":4}"};
    assert_int_equal(payload_read(journal, &e, NULL, &out, NULL), STORE_OK);
    assert_int_equal(out.scale, NO_SCALE);
    assert_int_equal(out.ingredient, NO_INGREDIENT);
    assert_int_equal(out.net, 4);
}

static void test_does_not_fit(void **state)
{
    (void)state;
    char text[20];
    struct record r = {.kind = REC_WEIGHED, .scale = NO_SCALE, .ingredient = NO_INGREDIENT};
    assert_false(payload_write(&r, &rig, NULL, text, sizeof text));
}

/* The longest strings, every byte of which needs an escape, still fit. */
static void test_the_longest_fits(void **state)
{
    (void)state;
    char text[PAYLOAD_MAX];
    struct record r = {.kind = REC_CHECKED, .step = 2};
    memset(r.lot, 1, sizeof r.lot - 1);
    memset(r.next_lot, 1, sizeof r.next_lot - 1);
    memset(r.second, 1, sizeof r.second - 1);
    memset(r.reason, 1, sizeof r.reason - 1);
    memset(formula.steps[2].text[0], 1, CAP_TEXT - 1);
    r.has_band = true;
    r.gross = r.tare = r.net = r.target = r.low = r.high = INT64_MIN;
    assert_true(payload_write(&r, &rig, NULL, text, sizeof text));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_random_records_come_back),
        cmocka_unit_test(test_through_the_file),
        cmocka_unit_test(test_a_weighing_has_all_its_keys),
        cmocka_unit_test(test_a_check_carries_its_words),
        cmocka_unit_test(test_a_batch_names_its_texts),
        cmocka_unit_test(test_what_is_no_record),
        cmocka_unit_test(test_names_need_a_setup),
        cmocka_unit_test(test_does_not_fit),
        cmocka_unit_test(test_the_longest_fits),
    };
    return cmocka_run_group_tests_name("payload", tests, open_journal, close_journal);
}
