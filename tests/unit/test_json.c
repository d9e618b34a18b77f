/* core/json.c: commas, escapes, UTF-8, exact numbers, and a buffer that is too small at every length. */
#include "core_test.h"

#include "core/json.h"

static char buf[512];
static struct json j;

static const char *written(void)
{
    assert_true(json_finish(&j));
    assert_int_equal(strlen(buf), j.len);
    return buf;
}

static void begin(void)
{
    json_begin(&j, buf, sizeof buf);
}

static void write_all_kinds(void)
{
    json_open(&j, '{');
    json_put_string(&j, "a", "b\"c");
    json_put_string(&j, "none", NULL);
    json_put_string(&j, "empty", "");
    json_put_int(&j, "n", -12);
    json_put_bool(&j, "yes", true);
    json_put_bool(&j, "no", false);
    json_put_null(&j, "null");
    json_put_grams(&j, "m_g", 12345 * PG_PER_MG);
    json_key(&j, "list");
    json_open(&j, '[');
    json_int(&j, 1);
    json_open(&j, '[');
    json_close(&j, ']');
    json_open(&j, '{');
    json_put_int(&j, "x", 2);
    json_close(&j, '}');
    json_null(&j);
    json_close(&j, ']');
    json_put_int(&j, "last", 3);
    json_close(&j, '}');
}

static const char all_kinds[] = "{\"a\":\"b\\\"c\",\"none\":null,\"empty\":null,\"n\":-12,\"yes\":true,\"no\":false,"
                                "\"null\":null,\"m_g\":12.345,\"list\":[1,[],{\"x\":2},null],\"last\":3}";

static void commas_stand_between(void **state)
{
    (void)state;
    begin();
    write_all_kinds();
    assert_string_equal(written(), all_kinds);
}

static void too_small_is_said_at_every_length(void **state)
{
    (void)state;
    for (size_t cap = 0; cap <= sizeof all_kinds + 1; cap++) {
        memset(buf, 'x', sizeof buf);
        json_begin(&j, buf, cap);
        write_all_kinds();
        assert_int_equal(json_finish(&j), cap >= sizeof all_kinds);
        assert_int_equal(buf[cap], 'x'); /* nothing behind its room */
        if (cap > 0)
            assert_true(strlen(buf) < cap && !strncmp(buf, all_kinds, strlen(buf)));
    }
}

/* Once full it stays full: nothing short slips in behind what was left out. */
static void full_is_for_good(void **state)
{
    (void)state;
    json_begin(&j, buf, 8);
    json_string(&j, "too long for it");
    json_int(&j, 1);
    json_close(&j, ']');
    assert_false(json_finish(&j));
    assert_null(strchr(buf, ']'));
}

static void assert_string(const char *text, size_t n, const char *want)
{
    begin();
    json_string_n(&j, text, n);
    assert_string_equal(written(), want);
}
#define ASSERT_STRING(text, want) assert_string(text, sizeof(text) - 1, want)

static void escapes(void **state)
{
    (void)state;
    ASSERT_STRING("", "\"\"");
    ASSERT_STRING("\" \\ / \b\f\n\r\t", "\"\\\" \\\\ / \\b\\f\\n\\r\\t\"");
    ASSERT_STRING("a\0b\x01\x1f\x7f", "\"a\\u0000b\\u0001\\u001f\\u007f\"");
    begin();
    json_string(&j, "");
    assert_string_equal(written(), "\"\"");
    begin();
    json_string(&j, "k\xc3\xa4se");
    assert_string_equal(written(), "\"k\xc3\xa4se\"");
}

#define FFFD "\xef\xbf\xbd"

/* Boundaries of RFC 3629's table of well-formed byte sequences. */
static void bytes_that_are_not_utf8(void **state)
{
    (void)state;
    ASSERT_STRING("\xc2\xa0\xdf\xbf", "\"\xc2\xa0\xdf\xbf\"");
    ASSERT_STRING("\xe0\xa0\x80\xed\x9f\xbf\xee\x80\x80\xef\xbf\xbf",
                  "\"\xe0\xa0\x80\xed\x9f\xbf\xee\x80\x80\xef\xbf\xbf\"");
    ASSERT_STRING("\xf0\x90\x80\x80\xf4\x8f\xbf\xbf", "\"\xf0\x90\x80\x80\xf4\x8f\xbf\xbf\"");
    ASSERT_STRING("\x80"
                  "a",
                  "\"" FFFD "a\"");
    ASSERT_STRING("\xc1\xbf", "\"" FFFD FFFD "\"");
    ASSERT_STRING("\xe0\x9f\xbf", "\"" FFFD FFFD FFFD "\"");
    ASSERT_STRING("a\x7f\xc2\x80\xc2\x9b\xc2\xa0", "\"a\\u007f\\u0080\\u009b\xc2\xa0\"");
    ASSERT_STRING("\xed\xa0\x80", "\"" FFFD FFFD FFFD "\"");
    ASSERT_STRING("\xf0\x8f\xbf\xbf", "\"" FFFD FFFD FFFD FFFD "\"");
    ASSERT_STRING("\xf4\x90\x80\x80", "\"" FFFD FFFD FFFD FFFD "\"");
    ASSERT_STRING("\xf5\x80\x80\x80\xff", "\"" FFFD FFFD FFFD FFFD FFFD "\"");
    ASSERT_STRING("\xc3", "\"" FFFD "\"");
    ASSERT_STRING("\xe2\x82", "\"" FFFD FFFD "\"");
    ASSERT_STRING("\xe2\x82"
                  "z",
                  "\"" FFFD FFFD "z\"");
    ASSERT_STRING("\xf0\x9f\x98"
                  "z",
                  "\"" FFFD FFFD FFFD "z\"");
    ASSERT_STRING("\xe2\x82\xc0", "\"" FFFD FFFD FFFD "\"");
    ASSERT_STRING("\xc3\"", "\"" FFFD "\\\"\"");
}

static void assert_decimal(int64_t value, unsigned places, const char *want)
{
    begin();
    json_decimal(&j, value, places);
    assert_string_equal(written(), want);
}

static void numbers_are_exact(void **state)
{
    (void)state;
    assert_decimal(0, 0, "0");
    assert_decimal(0, 3, "0");
    assert_decimal(71000, 3, "71");
    assert_decimal(71100, 3, "71.1");
    assert_decimal(-71125, 3, "-71.125");
    assert_decimal(5, 3, "0.005");
    assert_decimal(-50, 3, "-0.05");
    assert_decimal(500, 3, "0.5");
    assert_decimal(15625, 6, "0.015625");
    assert_decimal(INT64_MAX, 0, "9223372036854775807");
    assert_decimal(INT64_MIN, 0, "-9223372036854775808");
    assert_decimal(INT64_MIN, 18, "-9.223372036854775808");
    assert_decimal(INT64_MIN, 19, "-0.9223372036854775808");
    assert_decimal(7, 25, "0.0000000000000000000000007");
    begin();
    json_int(&j, INT64_MIN);
    assert_string_equal(written(), "-9223372036854775808");
}

static void grams(void **state)
{
    static const struct {
        mass_pg mass;
        const char *text;
    } t[] = {
        {0, "0"},
        {1, "0.000000000001"},
        {-1, "-0.000000000001"},
        {40 * PG_PER_KG, "40000"},
        {PG_PER_OZ, "28.349523125"},
        {INT64_MIN, "-9223372.036854775808"},
    };

    (void)state;
    for (size_t i = 0; i < sizeof t / sizeof *t; i++) {
        begin();
        json_grams(&j, t[i].mass);
        assert_string_equal(written(), t[i].text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(commas_stand_between),
        cmocka_unit_test(too_small_is_said_at_every_length),
        cmocka_unit_test(full_is_for_good),
        cmocka_unit_test(escapes),
        cmocka_unit_test(bytes_that_are_not_utf8),
        cmocka_unit_test(numbers_are_exact),
        cmocka_unit_test(grams),
    };
    return cmocka_run_group_tests_name("json", tests, NULL, NULL);
}
