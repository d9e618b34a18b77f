/* Answer lines read strictly: every form that is taken, and what is refused. */
#include "screen_fixture.h"

static struct answer a;
static uint32_t at;

static void assert_refused(const char *line, enum refusal_code code)
{
    if (answer_parse(line, &a, &at) != code)
        fail_msg("\"%s\" gave %d, not %d", line, (int)answer_parse(line, &a, &at), (int)code);
}

static void assert_taken(const char *line, enum answer_word word)
{
    assert_refused(line, REFUSED_COUNT);
    assert_int_equal(a.word, word);
}

static void bare_words(void **state)
{
    (void)state;
    static const enum answer_word bare[] = {ANSWER_YES,   ANSWER_NO, ANSWER_DONE, ANSWER_DISCARD, ANSWER_HOLD,
                                            ANSWER_PAUSE, ANSWER_GO, ANSWER_STOP, ANSWER_ABORT};
    for (size_t i = 0; i < sizeof bare / sizeof bare[0]; i++) {
        assert_taken(answer_text(bare[i]), bare[i]);
        assert_int_equal(at, 0);
    }
    assert_taken("@7 yes", ANSWER_YES);
    assert_int_equal(at, 7);
    assert_taken(" @4294967295\t no \t", ANSWER_NO);
    assert_true(at == UINT32_MAX);
    assert_refused("no thanks", REFUSED_VALUE);
    assert_refused("Yes", REFUSED_WORD);
    assert_refused("ye", REFUSED_WORD);
    assert_refused("yess", REFUSED_WORD);
    assert_refused("", REFUSED_WORD);
    assert_refused("12", REFUSED_WORD);
}

static void prompt_numbers(void **state)
{
    (void)state;
    assert_refused("@ yes", REFUSED_VALUE);
    assert_refused("@0 yes", REFUSED_VALUE);
    assert_refused("@x yes", REFUSED_VALUE);
    assert_refused("@1x yes", REFUSED_VALUE);
    assert_refused("@-1 yes", REFUSED_VALUE);
    assert_refused("@4294967296 yes", REFUSED_VALUE);
    assert_refused("@12", REFUSED_WORD);
    assert_int_equal(at, 12);
    assert_refused("@12 nonsense", REFUSED_WORD); /* still known which prompt it was for */
    assert_int_equal(at, 12);
    assert_refused("@31 [too long]", REFUSED_VALUE);
    assert_int_equal(at, 31);
}

static void texts(void **state)
{
    char line[ANSWER_LINE];
    (void)state;
    assert_taken("lot K-88 b", ANSWER_LOT);
    assert_string_equal(a.text, "K-88 b");
    assert_taken("keep  the taste is right  ", ANSWER_KEEP);
    assert_string_equal(a.text, "the taste is right");
    assert_taken("short kein K\xc3\xa4se mehr", ANSWER_SHORT);
    assert_taken("person AB", ANSWER_PERSON);
    assert_string_equal(a.who.code, "AB");
    assert_taken("yes CD", ANSWER_YES);
    assert_string_equal(a.who.code, "CD");
    assert_refused("lot", REFUSED_VALUE);
    assert_refused("keep ", REFUSED_VALUE);
    assert_refused("person", REFUSED_VALUE);
    assert_refused("lot a\033[2J", REFUSED_VALUE);
    assert_refused("keep a\x01", REFUSED_VALUE);
    assert_refused("lot \xe2\x80\xae"
                   "abc",
                   REFUSED_VALUE); /* turns the direction of text */
    snprintf(line, sizeof line, "lot %.*s", CAP_LOT - 1, "0123456789012345678901234567890123456789");
    assert_taken(line, ANSWER_LOT);
    snprintf(line, sizeof line, "lot %.*s", CAP_LOT, "0123456789012345678901234567890123456789");
    assert_refused(line, REFUSED_VALUE);
    assert_refused("person 0123456789012345", REFUSED_VALUE);
    memset(line, 'x', sizeof line);
    memcpy(line, "keep ", 5);
    line[5 + CAP_REASON] = 0;
    assert_refused(line, REFUSED_VALUE);
    line[5 + CAP_REASON - 1] = 0;
    assert_taken(line, ANSWER_KEEP);
}

static void assert_value(const char *line, int32_t milli)
{
    assert_taken(line, ANSWER_VALUE);
    assert_int_equal(a.value_milli, milli);
}

static void check_values(void **state)
{
    (void)state;
    assert_value("value 3", 3000);
    assert_value("value -1.25", -1250);
    assert_value("value +0.001", 1);
    assert_value("value 72.500000", 72500);
    assert_value("value 2000000.999", 2000000999);
    assert_refused("value", REFUSED_VALUE);
    assert_refused("value 1.2345", REFUSED_VALUE);
    assert_refused("value 1.", REFUSED_VALUE);
    assert_refused("value .5", REFUSED_VALUE);
    assert_refused("value 1,5", REFUSED_VALUE);
    assert_refused("value 1e3", REFUSED_VALUE);
    assert_refused("value 3 C", REFUSED_VALUE);
    assert_refused("value 2000001", REFUSED_VALUE);
    assert_refused("value 99999999999999999999", REFUSED_VALUE);
    assert_refused("value nan", REFUSED_VALUE);
}

static void masses_and_items(void **state)
{
    (void)state;
    assert_taken("typed 12.5 g", ANSWER_TYPED);
    assert_true(a.mass == 12500 * PG_PER_MG);
    assert_taken("@3 typed 3 lb 4 oz", ANSWER_TYPED);
    assert_true(a.mass == 3 * PG_PER_LB + 4 * PG_PER_OZ);
    assert_refused("typed 12.5", REFUSED_VALUE);
    assert_refused("typed 0 g", REFUSED_VALUE);
    assert_refused("typed -1 g", REFUSED_VALUE);
    assert_refused("typed", REFUSED_VALUE);
    assert_taken("discard 7", ANSWER_DISCARD);
    assert_int_equal(a.item, 7);
    assert_taken("discard", ANSWER_DISCARD);
    assert_int_equal(a.item, 0);
    assert_refused("discard 0", REFUSED_VALUE);
    assert_refused("discard 65536", REFUSED_VALUE);
    assert_refused("discard it", REFUSED_VALUE);
}

/* Said with what would fit, and only where it was the length. */
static void how_long_it_may_be(void **state)
{
    static const struct {
        const char *line;
        unsigned room;
    } all[] = {
        {"@31 [too long]", 199},
        {"[too long]", 199},
        {"[not UTF-8 text]", 0},
        {"person 1234567890123456", 15},
        {"@3 person 123456789012345", 0},
        {"yes 1234567890123456", 15},
        {"lot 12345678901234567890123456789012", 31},
        {"@3 lot", 0},
        {"keep 12345678901234567890123456789012345678901234567890123456789012345678901234567890123456789012345678", 95},
        {"typed 99999999999999999999999999 kg", 0},
        {"nonsense 12345678901234567890123456789012", 0}};
    (void)state;
    for (unsigned k = 0; k < sizeof all / sizeof *all; k++)
        assert_int_equal(answer_room(all[k].line), all[k].room);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(how_long_it_may_be), cmocka_unit_test(bare_words),
        cmocka_unit_test(prompt_numbers),     cmocka_unit_test(texts),
        cmocka_unit_test(check_values),       cmocka_unit_test(masses_and_items),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
