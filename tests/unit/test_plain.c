/* Plain lines, whole, and the lines that come back. */
#include "screen_fixture.h"

#include <unistd.h>

#include "screen/lines.h"

static void assert_plain(const struct say *s, const char *expected)
{
    char line[2048];
    size_t n = say_plain(s, line, sizeof line);
    assert_int_equal(n, strlen(line));
    assert_string_equal(line, expected);
}

static void prompt_lines(void **state)
{
    struct fixture f;
    static const struct view_choice choices[] = {
        {ANSWER_KEEP, "supervisor agreed"}, {ANSWER_KEEP, ""}, {ANSWER_DISCARD, ""}};
    (void)state;
    fixture_init(&f);
    fixture_prompt(&f, ASK_FILL);
    f.prompt.answers = 1U << ANSWER_DONE;
    assert_plain(&f.say,
                 "prompt @12 fill | item 3 | Curing salt | bin 4 | scale fine | target 62.50 g | band 62.00 g to "
                 "62.50 g | Put in Curing salt up to 62.50 g (62.00 g to 62.50 g is good). | type: done\n");
    fixture_prompt(&f, ASK_CLEAR);
    f.prompt.has_band = false;
    assert_plain(&f.say, "prompt @12 clear | item 3 | Curing salt | bin 4 | scale fine | Take everything off the fine "
                         "scale and wait until it shows zero. | the scale answers\n");
    fixture_prompt(&f, ASK_OVER);
    f.prompt.has_band = false;
    f.prompt.take = PG_PER_G;
    f.prompt.answers = 1U << ANSWER_KEEP | 1U << ANSWER_DISCARD;
    f.say.choices = choices;
    f.say.choice_count = 3;
    assert_plain(&f.say, "prompt @12 over | item 3 | Curing salt | bin 4 | scale fine | Too much Curing salt. Take out "
                         "1.00 g. | type: keep REASON, discard | 1 = keep supervisor agreed | 3 = discard\n");
}

static void other_lines(void **state)
{
    struct fixture f;
    (void)state;
    fixture_init(&f);
    fixture_record(&f, SAY_RECORDED, REC_WEIGHED);
    assert_plain(&f.say,
                 "recorded item 4 | Mountain cheese | 2.000 kg | in | target 2.000 kg | band 1.980 kg to 2.020 kg "
                 "| gross 2.145 kg | tare 0.145 kg | lot K-88 | scale bench | live | entry 41\n");
    fixture_record(&f, SAY_NOTED, REC_MORE);
    assert_plain(&f.say, "noted more | item 4 | That was all of Mountain cheese. | entry 41\n");
    fixture_effect(&f, SAY_REFUSED, REFUSED_MOVING);
    f.say.to = 9;
    assert_plain(&f.say, "refused moving @9 | The weight was still moving. Let go, wait until it stands still, answer "
                         "again.\n");
    fixture_effect(&f, SAY_NOTICE, NOTICE_SILENT);
    assert_plain(&f.say, "notice silent | The fine scale sends nothing. Is it switched on, and is its cable in at both "
                         "ends?\n");
    fixture_effect(&f, SAY_STATE, BATCH_COMPLETE);
    assert_plain(&f.say, "state complete | The batch is complete.\n");
    fixture_effect(&f, SAY_END, 0);
    assert_plain(&f.say, "end 0 | Done.\n");
    f.say.kind = SAY_HELLO;
    f.say.last_batch = "B6";
    f.say.last_state = "held";
    assert_plain(&f.say, "hello A new batch. | last batch B6 held\n");
    f.say.kind = SAY_READING;
    assert_plain(&f.say, "");
    f.say.kind = SAY_CUE;
    assert_plain(&f.say, "");
    f.say.scale = 1;
    f.say.lands = 6225 * (PG_PER_G / 100);
    f.say.cue = CUE_EASE;
    assert_plain(&f.say, "cue ease | item 3 | lands at 62.25 g | Ease off: the target is near.\n");
    f.say.cue = CUE_STOP;
    assert_plain(&f.say, "cue stop | item 3 | lands at 62.25 g | Stop now: what is on its way fills it up.\n");
}

/* A digit would throw away a lug without saying which. */
static void a_lug_of_the_basis_is_named(void **state)
{
    static struct fixture f;
    static const struct view_choice choices[] = {{ANSWER_DISCARD, ""}, {ANSWER_HOLD, ""}};
    char line[512];
    (void)state;
    fixture_init(&f);
    fixture_prompt(&f, ASK_CONFIRM);
    f.prompt.what = WHAT_BASIS;
    f.prompt.answers = UINT32_C(1) << ANSWER_YES | UINT32_C(1) << ANSWER_DISCARD | UINT32_C(1) << ANSWER_HOLD;
    f.say.choices = choices;
    f.say.choice_count = 2;
    assert_true(say_plain(&f.say, line, sizeof line) > 0);
    assert_non_null(strstr(line, " | type: yes, discard ITEM, hold | 2 = hold\n"));
    f.prompt.ask = ASK_MORE;
    f.prompt.what = WHAT_NONE;
    assert_true(say_plain(&f.say, line, sizeof line) > 0);
    assert_non_null(strstr(line, " | type: yes, discard, hold | 1 = discard | 2 = hold\n"));
}

/* All that a formula can put in at once, by the longest names: what is cut off here is missing in the sausage. */
static void no_name_of_an_addition_is_lost(void **state)
{
    static struct fixture f;
    static struct item work[CAP_INGREDIENTS];
    static uint16_t items[CAP_INGREDIENTS];
    static char line[8192];
    (void)state;
    fixture_init(&f);
    fixture_prompt(&f, ASK_ADD);
    f.prompt.ingredient = NO_INGREDIENT;
    f.prompt.answers = UINT32_C(1) << ANSWER_YES;
    f.formula.ingredient_count = CAP_INGREDIENTS;
    for (uint8_t i = 0; i < CAP_INGREDIENTS; i++) {
        struct ingredient *in = &f.formula.ingredients[i];
        snprintf(in->name[0], sizeof in->name[0], "%02u-%0*d", i, CAP_NAME - 4, 0);
        work[i] = (struct item){.id = (uint16_t)(i + 1), .kind = ITEM_WEIGH, .ingredient = i};
        items[i] = (uint16_t)(i + 1);
    }
    f.say.work = work;
    f.say.item = NULL;
    f.say.items = items;
    f.say.item_count = CAP_INGREDIENTS;
    assert_true(say_plain(&f.say, line, sizeof line) > 0);
    for (uint8_t i = 0; i < CAP_INGREDIENTS; i++)
        assert_non_null(strstr(line, f.formula.ingredients[i].name[0]));
    assert_non_null(strstr(line, "Say yes when it is in. | type: yes"));
}

/* A line that does not fit is cut at a whole character and still ends. */
static void a_cut_line_is_a_line(void **state)
{
    struct fixture f;
    char line[400];
    (void)state;
    fixture_init(&f);
    f.say.lang = 1;
    fixture_prompt(&f, ASK_FILL);
    for (size_t cap = 2; cap < 200; cap++) {
        size_t n = say_plain(&f.say, line, cap);
        assert_true(n >= 1 && n < cap && line[n - 1] == '\n' && !line[n]);
    }
}

struct pipes {
    struct screen s;
    struct view v;
    int give, take;
};

static void open_pipes(struct pipes *p, enum screen_kind kind)
{
    int in[2], out[2];
    char why[100];
    assert_int_equal(pipe(in), 0);
    assert_int_equal(pipe(out), 0);
    memset(&p->v, 0, sizeof p->v);
    assert_true(screen_open(&p->s, kind, in[0], out[1], why, sizeof why));
    p->give = in[1];
    p->take = out[0];
}

static void close_pipes(struct pipes *p)
{
    screen_close(&p->s);
    close(p->s.in);
    close(p->s.out);
    close(p->give);
    close(p->take);
}

static void give(struct pipes *p, const char *text, size_t n)
{
    assert_int_equal(write(p->give, text, n), (int)n);
}

static void assert_answer(struct pipes *p, const char *expected)
{
    char line[ANSWER_LINE] = "";
    bool ended = true;
    bool got = screen_answer(&p->s, &p->v, 1, line, &ended);
    for (int wake = 0; expected && !got && wake < 4; wake++) /* one read in a wake-up */
        got = screen_answer(&p->s, &p->v, 1, line, &ended);
    assert_false(ended);
    assert_int_equal(got, expected != NULL);
    if (expected)
        assert_string_equal(line, expected);
}

static void lines_come_whole(void **state)
{
    struct pipes p;
    char longer[600];
    (void)state;
    open_pipes(&p, SCREEN_JSON);
    assert_answer(&p, NULL);
    give(&p, "@4 y", 4);
    assert_answer(&p, NULL);
    give(&p, "es\r\n\n  \n7\nlot K", 15);
    assert_answer(&p, "@4 yes");
    assert_answer(&p, "7");
    assert_answer(&p, NULL);
    memset(longer, 'x', sizeof longer);
    memcpy(longer, "\n@31 keep ", 10);
    longer[599] = '\n';
    give(&p, longer, sizeof longer);
    give(&p, "lot \xff\nlot a\0b\nlot \xc3\xa4\n", 21);
    assert_answer(&p, "lot K");
    assert_answer(&p, "@31 [too long]");
    assert_answer(&p, "[not UTF-8 text]");
    assert_answer(&p, "[not UTF-8 text]");
    assert_answer(&p, "lot \xc3\xa4");
    assert_answer(&p, NULL);
    close_pipes(&p);
}

/* A client that waits for its prompt is never early: nothing that it writes then is read in the same wake-up. */
static void one_read_in_a_wake_up(void **state)
{
    struct pipes p;
    (void)state;
    open_pipes(&p, SCREEN_JSON);
    give(&p, "yes\n", 4);
    assert_answer(&p, "yes");
    give(&p, "no\n", 3);
    assert_answer(&p, NULL);
    assert_answer(&p, "no");
    close_pipes(&p);
}

static void the_longest_line_fits(void **state)
{
    struct pipes p;
    char text[ANSWER_LINE + 1];
    (void)state;
    open_pipes(&p, SCREEN_JSON);
    memset(text, 'x', sizeof text);
    text[ANSWER_LINE - 1] = '\n';
    give(&p, text, ANSWER_LINE);
    text[ANSWER_LINE - 1] = 'x';
    text[ANSWER_LINE] = '\n';
    give(&p, text, ANSWER_LINE + 1);
    text[ANSWER_LINE - 1] = 0;
    assert_answer(&p, text);
    assert_answer(&p, "[too long]");
    close_pipes(&p);
}

static void end_of_input(void **state)
{
    struct pipes p;
    char line[ANSWER_LINE];
    bool ended = false;
    (void)state;
    open_pipes(&p, SCREEN_JSON);
    give(&p, "yes\nno", 6); /* a line without its end was cut off: it is no answer */
    close(p.give);
    assert_true(screen_answer(&p.s, &p.v, 1, line, &ended));
    assert_false(ended);
    assert_false(screen_answer(&p.s, &p.v, 1, line, &ended));
    assert_false(ended); /* its one read is done */
    assert_false(screen_answer(&p.s, &p.v, 1, line, &ended));
    assert_true(ended);
    p.give = dup(p.take);
    close_pipes(&p);
}

static void a_lost_reader_is_told(void **state)
{
    struct pipes p;
    struct fixture f;
    (void)state;
    fixture_init(&f);
    open_pipes(&p, SCREEN_JSON);
    assert_true(screen_say(&p.s, fixture_prompt(&f, ASK_FILL)));
    close(p.take);
    assert_false(screen_say(&p.s, &f.say));
    p.take = dup(p.give);
    close_pipes(&p);
}

static void one_write_per_line(void **state)
{
    struct pipes p;
    struct fixture f;
    char got[2048], expected[2048];
    (void)state;
    fixture_init(&f);
    open_pipes(&p, SCREEN_JSON);
    assert_true(screen_say(&p.s, fixture_prompt(&f, ASK_FILL)));
    ssize_t n = read(p.take, got, sizeof got - 1);
    got[n] = 0;
    say_json(&f.say, expected, sizeof expected);
    strcat(expected, "\n");
    assert_string_equal(got, expected);
    close_pipes(&p);
}

static void assert_eased(struct view *v, const char *from, const char *to)
{
    char line[ANSWER_LINE];
    snprintf(line, sizeof line, "%s", from);
    lines_ease(v, line);
    assert_string_equal(line, to);
}

/* The bell is for what wants to be looked at, and never comes between lines. */
static void the_bell_rings_on_the_full_screen_only(void **state)
{
    struct pipes p;
    char got[8];
    (void)state;
    open_pipes(&p, SCREEN_JSON);
    screen_sound(&p.s, SOUND_OVER);
    p.s.kind = SCREEN_FULL;
    screen_sound(&p.s, SOUND_ACCEPTED);
    screen_sound(&p.s, SOUND_OVER);
    screen_sound(&p.s, SOUND_WRONG);
    screen_sound(&p.s, SOUND_EASE);
    screen_sound(&p.s, SOUND_STOP); /* twice */
    p.s.kind = SCREEN_PLAIN;
    screen_sound(&p.s, SOUND_STOP);
    p.s.kind = SCREEN_JSON;
    assert_int_equal(read(p.take, got, sizeof got), 5);
    assert_memory_equal(got, "\a\a\a\a\a", 5);
    close_pipes(&p);
}

static void plain_mode_is_easy(void **state)
{
    struct view v;
    (void)state;
    memset(&v, 0, sizeof v);
    v.prompt.ask = ASK_LOT;
    v.choice_count = 2;
    v.choices[0] = (struct view_choice){ANSWER_LOT, "K-88"};
    v.choices[1] = (struct view_choice){ANSWER_LOT, "K-89"};
    assert_eased(&v, "2", "lot K-89");
    assert_eased(&v, "@9 1 ", "@9 lot K-88");
    assert_eased(&v, "3", "lot 3");
    assert_eased(&v, "K-90", "lot K-90");
    assert_eased(&v, "@9 K-90", "@9 lot K-90");
    assert_eased(&v, "lot K-90", "lot K-90");
    assert_eased(&v, "pause", "pause");
    assert_eased(&v, "[too long]", "[too long]");
    v.prompt.ask = ASK_CHECK;
    v.choice_count = 1;
    assert_eased(&v, "1", "value 1"); /* a measured value is never taken for a choice */
    assert_eased(&v, "-3.5", "value -3.5");
    assert_eased(&v, "warm", "warm");
    v.prompt = (struct prompt){.ask = ASK_PERSON};
    v.choice_count = 0;
    assert_eased(&v, "AB", "person AB");
    v.prompt = (struct prompt){.ask = ASK_CONFIRM, .what = WHAT_SECOND, .other = true};
    assert_eased(&v, "CD", "yes CD");
    v.prompt = (struct prompt){.ask = ASK_CONFIRM, .what = WHAT_WEIGHT}; /* a weight is accepted by its word only */
    assert_eased(&v, "K-90", "K-90");
    assert_eased(&v, "1", "1");
    char longest[ANSWER_LINE];
    memset(longest, 'x', sizeof longest);
    longest[ANSWER_LINE - 1] = 0;
    v.prompt.ask = ASK_LOT;
    assert_eased(&v, longest, "[too long]");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(prompt_lines),
        cmocka_unit_test(other_lines),
        cmocka_unit_test(a_lug_of_the_basis_is_named),
        cmocka_unit_test(no_name_of_an_addition_is_lost),
        cmocka_unit_test(a_cut_line_is_a_line),
        cmocka_unit_test(lines_come_whole),
        cmocka_unit_test(one_read_in_a_wake_up),
        cmocka_unit_test(the_longest_line_fits),
        cmocka_unit_test(end_of_input),
        cmocka_unit_test(a_lost_reader_is_told),
        cmocka_unit_test(one_write_per_line),
        cmocka_unit_test(the_bell_rings_on_the_full_screen_only),
        cmocka_unit_test(plain_mode_is_easy),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
