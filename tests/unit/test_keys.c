/* Keys: what a press, a scan or a held key comes to. Times in milliseconds. */
#include "screen_fixture.h"

#include "screen/keys.h"

struct hands {
    struct keys k;
    struct view v;
    uint64_t ms;
    char line[ANSWER_LINE];
    unsigned answers; /* lines made so far */
};

static void open_prompt(struct hands *h, enum ask ask, enum confirm_what what, uint32_t answers)
{
    h->v.prompt = (struct prompt){.ask = (uint8_t)ask, .what = (uint8_t)what, .item = 3, .answers = answers};
    h->v.prompt_n++;
    keys_prompt(&h->k, h->v.prompt_n, h->ms * 1000);
    h->ms += 1000; /* the person reads it */
}

static void start(struct hands *h, enum ask ask, enum confirm_what what, uint32_t answers)
{
    memset(h, 0, sizeof *h);
    keys_init(&h->k);
    h->ms = 5000;
    h->v.prompt_n = 6;
    h->v.state = BATCH_RUNNING;
    open_prompt(h, ask, what, answers);
}

/* Nobody calls anything while no key comes but when keys_wake says so. */
static void wait_ms(struct hands *h, uint64_t ms)
{
    uint64_t until = h->ms + ms, wake = keys_wake(&h->k);
    if (wake && wake <= until * 1000) {
        h->ms = wake / 1000;
        h->answers += keys_idle(&h->k, &h->v, wake, h->line);
    }
    h->ms = until;
}

static void press(struct hands *h, const char *keys, uint64_t gap_ms)
{
    for (; *keys; keys++) {
        uint32_t key;
        wait_ms(h, gap_ms);
        if (keys_byte(&h->k, (uint8_t)*keys, h->ms * 1000, &key))
            h->answers += keys_press(&h->k, &h->v, key, h->ms * 1000, h->line);
    }
}

static void assert_line(struct hands *h, const char *expected)
{
    wait_ms(h, 100);
    assert_int_equal(h->answers, expected != NULL);
    if (expected)
        assert_string_equal(h->line, expected);
    h->answers = 0;
}

#define BIT(word) (UINT32_C(1) << ANSWER_##word)

static void choose(struct hands *h, unsigned place, enum answer_word word, const char *text)
{
    h->v.choices[place].word = (uint8_t)word;
    snprintf(h->v.choices[place].text, CAP_REASON, "%s", text);
    h->v.choice_count = (uint8_t)(place + 1);
}

static void enter_accepts(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    press(&h, "\r", 0);
    assert_line(&h, "@7 yes");
    open_prompt(&h, ASK_INSTRUCTION, WHAT_NONE, BIT(YES));
    press(&h, "\n", 0);
    assert_line(&h, "@8 yes");
    open_prompt(&h, ASK_FILL, WHAT_NONE, BIT(DONE));
    press(&h, "\r", 0); /* Enter is no answer where yes is none */
    assert_line(&h, NULL);
    press(&h, "0", 0);
    assert_line(&h, "@9 done");
}

/* While it is filled, where the weight rests in its band; the question that follows asks for the same, so whoever reads the one
 * may answer the other. */
static void enter_accepts_what_rests(void **state)
{
    struct hands h;
    char help[200];
    (void)state;
    start(&h, ASK_FILL, WHAT_NONE, BIT(DONE));
    (void)keys_help(&h.k, &h.v, help, sizeof help);
    assert_null(strstr(help, "Enter"));
    h.v.rests = true;
    h.v.offered_at = h.ms * 1000;
    (void)keys_help(&h.k, &h.v, help, sizeof help);
    assert_non_null(strstr(help, "Enter accept"));
    press(&h, "\r", KEYS_EARLY / 1000 - 1); /* that was on its way before it could be read */
    assert_line(&h, NULL);
    assert_int_equal(h.k.hint, HINT_EARLY);
    press(&h, "\r", 1000);
    assert_line(&h, "@7 yes");
    h.v.rests = false; /* it waits */
    press(&h, "\r", 1000);
    assert_line(&h, NULL);
    h.v.rests = true;
    h.v.offered_at = (h.ms - 250) * 1000;
    open_prompt(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    h.ms -= 990;
    h.v.rests = false;
    press(&h, "1", 0); /* no other key profits by it */
    assert_line(&h, NULL);
    assert_int_equal(h.k.hint, HINT_EARLY);
    open_prompt(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    h.ms -= 990;
    h.v.offered_at = (h.ms - 250) * 1000;
    press(&h, "\r", 0);
    assert_line(&h, "@9 yes");
}

/* Whoever presses Enter again because nothing seems to happen has not looked twice at it, nor asked for another lug. */
static void not_patient(void **state)
{
    static const enum ask asks[] = {ASK_CONFIRM, ASK_MORE};
    char help[200];
    (void)state;
    for (unsigned i = 0; i < 2; i++) {
        struct hands h;
        start(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
        press(&h, "\r", 0);
        assert_line(&h, "@7 yes");
        h.v.waits = true;
        keys_waits(&h.k, true);
        (void)keys_help(&h.k, &h.v, help, sizeof help);
        assert_null(strstr(help, "Enter"));
        press(&h, "\r", 600);
        assert_line(&h, NULL);
        open_prompt(&h, asks[i], WHAT_SECOND, BIT(YES));
        h.ms -= 1000;
        h.v.waits = false;
        keys_waits(&h.k, false);
        press(&h, "\r", KEYS_IMPATIENT / 1000 - 1);
        assert_line(&h, NULL);
        assert_int_equal(h.k.hint, HINT_EARLY);
        press(&h, "\r", 400);
        assert_line(&h, "@8 yes");
        open_prompt(&h, ASK_INSTRUCTION, WHAT_NONE, BIT(YES)); /* nothing waited for that one */
        h.ms -= 1000;
        press(&h, "\r", KEYS_EARLY / 1000);
        assert_line(&h, "@9 yes");
    }
}

/* A code that the other person types or scans is no second Enter. */
static void another_person_is_at_hand(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    keys_waits(&h.k, true);
    open_prompt(&h, ASK_CONFIRM, WHAT_SECOND, BIT(YES));
    h.ms -= 800;
    h.v.prompt.other = true;
    press(&h, "IF\r", 10);
    assert_line(&h, "@8 yes IF");
}

/* The window was too small, and is large again: the question is read anew, however long it has been open. */
static void out_of_sight(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    h.v.offered_at = (h.ms - 900) * 1000;
    keys_sight(&h.k, true, h.ms * 1000); /* as before */
    keys_sight(&h.k, false, h.ms * 1000);
    press(&h, "\r", 1000);
    assert_line(&h, NULL);
    h.ms += 1000;
    keys_sight(&h.k, true, h.ms * 1000);
    press(&h, "\r", KEYS_EARLY / 1000 - 1);
    assert_line(&h, NULL);
    assert_int_equal(h.k.hint, HINT_EARLY);
    press(&h, "\r", 1000);
    assert_line(&h, "@7 yes");
}

static void digits_pick(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_OVER, WHAT_NONE, BIT(KEEP) | BIT(DISCARD));
    choose(&h, 0, ANSWER_KEEP, "taste agreed");
    choose(&h, 1, ANSWER_DISCARD, "");
    press(&h, "3", 0);
    assert_line(&h, NULL);
    press(&h, "1", 0);
    assert_line(&h, "@7 keep taste agreed");
    open_prompt(&h, ASK_OVER, WHAT_NONE, BIT(DISCARD));
    press(&h, "2", 0);
    assert_line(&h, "@8 discard");
    open_prompt(&h, ASK_MORE, WHAT_NONE, BIT(YES) | BIT(NO));
    h.v.choice_count = 0;
    press(&h, "0", 0);
    assert_line(&h, "@9 no");
}

static void a_digit_waits_for_a_scan(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_OVER, WHAT_NONE, BIT(DISCARD));
    choose(&h, 0, ANSWER_DISCARD, "");
    press(&h, "1", 0);
    assert_int_equal(h.answers, 0);
    assert_true(keys_wake(&h.k) == h.ms * 1000 + KEYS_HOLD);
    assert_line(&h, "@7 discard");
    assert_int_equal(keys_wake(&h.k), 0);
    start(&h, ASK_OVER, WHAT_NONE, BIT(DISCARD));
    choose(&h, 0, ANSWER_DISCARD, "");
    press(&h, "1\r", 0); /* so close that both are read at once: the digit, and no second answer */
    assert_line(&h, "@7 discard");
}

/* Every speed that a scanner may have, and a late Enter. */
static void a_scan_never_accepts_a_weight(void **state)
{
    static const char *const scans[] = {"4006381333931", "1\x31\x31", "K-88", "+33", "/0", "0000"};
    (void)state;
    for (size_t i = 0; i < sizeof scans / sizeof scans[0]; i++)
        for (uint64_t gap = 0; gap <= 30; gap += 5)
            for (uint64_t tail = 0; tail <= 30; tail += 10) {
                struct hands h;
                start(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
                choose(&h, 0, ANSWER_YES, "");
                press(&h, scans[i], gap);
                press(&h, "\r", tail);
                assert_line(&h, NULL);
                assert_int_equal(h.k.hint, HINT_SCAN);
                wait_ms(&h, 900);
                press(&h, "\r", 0);
                assert_line(&h, "@7 yes");
            }
}

static void a_late_enter_still_belongs_to_its_scan(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    press(&h, "40063", 10);
    press(&h, "\r", 200);
    assert_line(&h, NULL);
}

/* A scan that nobody asked for while the weight rests: the question that opens in the middle of it may be answered at once, but
 * not by the Enter that ends the scan. */
static void nor_does_one_across_a_prompt(void **state)
{
    (void)state;
    for (unsigned before = 0; before <= 8; before++)
        for (uint64_t tail = 10; tail <= 450; tail += 40) {
            struct hands h;
            start(&h, ASK_FILL, WHAT_NONE, BIT(DONE));
            h.v.rests = true;
            h.v.offered_at = h.ms * 1000;
            h.ms += 300;
            press(&h, &"K-881234"[8 - before], 10);
            open_prompt(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
            h.ms -= 1000;
            h.v.rests = false;
            press(&h, &"77771111"[before], 10);
            press(&h, "\r", tail);
            assert_line(&h, NULL);
            press(&h, "\r", 700);
            assert_line(&h, "@8 yes");
        }
}

static void a_brushed_key_does_not_block_enter(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    press(&h, "x", 0);
    press(&h, "\r", 800);
    assert_line(&h, "@7 yes");
}

static void lots_are_scanned_picked_or_typed(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_LOT, WHAT_NONE, BIT(LOT));
    choose(&h, 0, ANSWER_LOT, "K-87");
    choose(&h, 1, ANSWER_LOT, "K-88");
    press(&h, "2", 0);
    assert_line(&h, "@7 lot K-88");
    open_prompt(&h, ASK_LOT, WHAT_NONE, BIT(LOT));
    press(&h, "20251124\r", 5); /* begins with a digit of the list */
    assert_line(&h, "@8 lot 20251124");
    open_prompt(&h, ASK_LOT, WHAT_NONE, BIT(LOT));
    press(&h, "K-12\r", 150); /* by hand: the digits inside are letters of it */
    assert_line(&h, "@9 lot K-12");
    open_prompt(&h, ASK_LOT, WHAT_NONE, BIT(LOT));
    press(&h, "/", 0);
    press(&h, "12\r", 150); /* a new lot that begins with a digit */
    assert_line(&h, "@10 lot 12");
    open_prompt(&h, ASK_LOT, WHAT_NONE, BIT(LOT));
    h.v.choice_count = 0;
    press(&h,
          "1\xc3\xa4\xc3\xb6\x7f"
          "2\r",
          150);
    assert_line(&h, "@11 lot 1\xc3\xa4"
                    "2");
    open_prompt(&h, ASK_LOT, WHAT_NONE, BIT(LOT));
    press(&h, "\r", 150);
    assert_line(&h, NULL);
    assert_int_equal(h.k.hint, HINT_TYPE);
}

static void a_person_and_a_second_one(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_PERSON, WHAT_NONE, BIT(PERSON));
    press(&h, "12\r", 150);
    assert_line(&h, "@7 person 12");
    open_prompt(&h, ASK_CONFIRM, WHAT_SECOND, BIT(YES));
    h.v.prompt.other = true;
    press(&h, "\r", 150); /* the first person's habit is not the second person */
    assert_line(&h, NULL);
    press(&h, "CD\r", 5);
    assert_line(&h, "@8 yes CD");
    open_prompt(&h, ASK_CONFIRM, WHAT_SECOND, BIT(YES)); /* nobody signs in: a second look is a second yes */
    press(&h, "\r", 150);
    assert_line(&h, "@9 yes");
}

/* A paused batch is taken up again: who it is comes before what to do with it. */
static void a_person_for_a_paused_batch(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_PERSON, WHAT_NONE, BIT(PERSON));
    h.v.state = BATCH_PAUSED;
    press(&h, "12\r", 150);
    assert_line(&h, "@7 person 12");
}

static void keys_before_the_prompt_are_dropped(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    h.v.prompt_n++; /* open, but not yet drawn */
    press(&h, "\r", 0);
    assert_line(&h, NULL);
    keys_prompt(&h.k, h.v.prompt_n, h.ms * 1000);
    press(&h, "\r", 150); /* drawn, but nobody reads so fast */
    assert_line(&h, NULL);
    assert_int_equal(h.k.hint, HINT_EARLY);
    press(&h, "\r", 400);
    assert_line(&h, "@8 yes");
}

/* A scan that began before the prompt opened does not leave its second half as a lot. */
static void half_a_scan_is_no_lot(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_CLEAR, WHAT_NONE, 0);
    press(&h, "400", 10);
    h.v.prompt_n++;
    h.v.prompt.ask = ASK_LOT;
    keys_prompt(&h.k, h.v.prompt_n, h.ms * 1000);
    keys_drop(&h.k, h.ms * 1000);
    for (int i = 0; i < 30; i++)
        press(&h, "6", 10);
    press(&h, "\r", 10);
    assert_line(&h, NULL);
    wait_ms(&h, 500);
    press(&h, "K1\r", 10);
    assert_line(&h, "@8 lot K1");
}

static void a_held_key_answers_once(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_INSTRUCTION, WHAT_NONE, BIT(YES));
    press(&h, "\r", 0);
    assert_int_equal(h.answers, 1);
    wait_ms(&h, 20);
    open_prompt(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    h.ms -= 1000;
    for (int i = 0; i < 60; i++) /* 33 repeats a second, for two seconds */
        press(&h, "\r", 30);
    assert_line(&h, "@7 yes");
    start(&h, ASK_OVER, WHAT_NONE, BIT(DISCARD));
    choose(&h, 0, ANSWER_DISCARD, "");
    press(&h, "1", 0);
    wait_ms(&h, 60);
    open_prompt(&h, ASK_OVER, WHAT_NONE, BIT(DISCARD));
    h.ms -= 1000;
    for (int i = 0; i < 60; i++)
        press(&h, "1", 30);
    assert_line(&h, "@7 discard");
}

static void a_refused_answer_may_be_given_again(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    press(&h, "\r", 0);
    press(&h, "\r", 200);
    assert_line(&h, "@7 yes"); /* the impatient second press is not another answer */
    press(&h, "\r", 300);
    assert_line(&h, "@7 yes");
}

static void check_values_and_their_way_out(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_CHECK, WHAT_NONE, BIT(VALUE) | BIT(KEEP) | BIT(HOLD));
    press(&h, "-3,5\r", 150);
    assert_line(&h, "@7 value -3.5");
    choose(&h, 0, ANSWER_HOLD, "");
    choose(&h, 1, ANSWER_KEEP, "");
    wait_ms(&h, 400);
    press(&h, "/", 0);
    wait_ms(&h, 60);
    press(&h, "2", 0); /* a reason of one's own */
    wait_ms(&h, 60);
    press(&h, "ice soon\r", 90);
    assert_line(&h, "@7 keep ice soon");
    wait_ms(&h, 400);
    press(&h, "/", 0);
    wait_ms(&h, 60);
    press(&h, "1", 0);
    assert_line(&h, "@7 hold");
}

/* What can't be undone is two keys away, of which one is no digit. */
static void throwing_away_is_no_slip(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_FILL, WHAT_NONE, BIT(DONE) | BIT(DISCARD));
    choose(&h, 0, ANSWER_DISCARD, "");
    press(&h, "1", 0);
    assert_line(&h, NULL);
    press(&h, "/", 100);
    wait_ms(&h, 60);
    press(&h, "1", 100);
    assert_line(&h, "@7 discard");
    open_prompt(&h, ASK_ADD, WHAT_NONE, BIT(YES) | BIT(DISCARD));
    h.v.choice_count = 0;
    press(&h, "1", 0);
    assert_line(&h, NULL);
    press(&h, "/", 100);
    wait_ms(&h, 60);
    press(&h, "12\r", 100);
    assert_line(&h, "@8 discard 12");
    open_prompt(&h, ASK_CONFIRM, WHAT_BASIS, BIT(YES) | BIT(NO) | BIT(HOLD));
    press(&h, "0", 0);
    assert_line(&h, "@9 no");
}

/* A wrong lug: right after it without a number, at the basis by its number. No slip of one key does it. */
static void a_wrong_lug_is_thrown_out(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_MORE, WHAT_NONE, BIT(YES) | BIT(NO) | BIT(DISCARD));
    choose(&h, 0, ANSWER_DISCARD, "");
    press(&h, "1", 100);
    wait_ms(&h, 60);
    assert_line(&h, NULL);
    press(&h, "/", 100);
    wait_ms(&h, 60);
    press(&h, "1", 100);
    assert_line(&h, "@7 discard");
    open_prompt(&h, ASK_CONFIRM, WHAT_BASIS, BIT(YES) | BIT(NO) | BIT(DISCARD) | BIT(HOLD));
    press(&h, "/", 100);
    wait_ms(&h, 60);
    press(&h, "1", 100);
    wait_ms(&h, 60);
    assert_line(&h, NULL);
    press(&h, "12\r", 100);
    assert_line(&h, "@8 discard 12");
}

static void pause_and_what_follows(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_FILL, WHAT_NONE, BIT(DONE));
    press(&h, "+", 0);
    assert_line(&h, "@7 pause");
    h.v.state = BATCH_PAUSED;
    wait_ms(&h, 300);
    press(&h, "\r", 0);
    press(&h, "2", 100);
    wait_ms(&h, 60);
    press(&h, "2", 200); /* the same key again is no second confirmation */
    assert_line(&h, NULL);
    press(&h, "3", 200);
    wait_ms(&h, 60);
    press(&h, "1", 200); /* 1 is always the harmless way */
    assert_line(&h, NULL);
    press(&h, "1", 200);
    assert_line(&h, "@7 go");
    wait_ms(&h, 300);
    press(&h, "2", 200);
    wait_ms(&h, 60);
    press(&h, "9", 200);
    assert_line(&h, "@7 stop");
    wait_ms(&h, 300);
    press(&h, "3", 200);
    wait_ms(&h, 60);
    press(&h, "9", 200);
    assert_line(&h, "@7 abort");
    wait_ms(&h, 300);
    press(&h, "4", 200); /* nobody signs in here */
    press(&h, "AB\r", 200);
    assert_line(&h, NULL);
    snprintf(h.v.person, sizeof h.v.person, "CD");
    press(&h, "4", 200);
    wait_ms(&h, 60);
    press(&h, "AB\r", 200);
    assert_line(&h, "@7 person AB");
}

static void a_resume_is_answered_while_paused(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_RESUME, WHAT_NONE, BIT(YES));
    h.v.state = BATCH_PAUSED;
    press(&h, "\r", 0);
    assert_line(&h, "@7 yes");
}

/* Who may not release a held batch can still let somebody else sign in, or end it. */
static void a_held_batch_is_no_dead_end(void **state)
{
    struct hands h;
    char help[200];
    (void)state;
    start(&h, ASK_RESUME, WHAT_NONE, 0);
    h.v.state = BATCH_HELD;
    snprintf(h.v.person, sizeof h.v.person, "TH");
    (void)keys_help(&h.k, &h.v, help, sizeof help);
    assert_string_equal(help, "2 stop the batch   3 abort the batch   4 another person");
    press(&h, "\r", 0);
    press(&h, "1", 300);
    wait_ms(&h, 60);
    press(&h, "+", 300);
    assert_line(&h, NULL);
    press(&h, "4", 300);
    wait_ms(&h, 60);
    press(&h, "IF\r", 200);
    assert_line(&h, "@7 person IF");
    open_prompt(&h, ASK_RESUME, WHAT_NONE, BIT(YES));
    (void)keys_help(&h.k, &h.v, help, sizeof help);
    assert_string_equal(help, "Enter go on   2 stop the batch   3 abort the batch   4 another person");
    press(&h, "2", 300);
    wait_ms(&h, 60);
    press(&h, "\r", 300); /* of no use to a question that wants a 9 */
    assert_line(&h, NULL);
    press(&h, "9", 300);
    assert_line(&h, "@8 stop");
    open_prompt(&h, ASK_RESUME, WHAT_NONE, BIT(YES));
    press(&h, "1", 300);
    assert_line(&h, "@9 yes");
}

static void weights_are_typed_only_on_a_dead_scale(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_FILL, WHAT_NONE, BIT(DONE));
    h.v.scale_count = 1;
    h.v.scales[0].wanted = true;
    h.v.scales[0].link = LINK_UP;
    h.v.unit = UNIT_KG;
    press(&h, "/", 0);
    wait_ms(&h, 60);
    press(&h, "12.5\r", 150);
    assert_line(&h, NULL);
    h.v.scales[0].link = LINK_UNPLUGGED;
    press(&h, "/", 600); /* not by somebody who lacks the right */
    wait_ms(&h, 60);
    press(&h, "12.5\r", 150);
    assert_line(&h, NULL);
    h.v.may_type = true;
    wait_ms(&h, 600);
    press(&h, "/", 0);
    wait_ms(&h, 60);
    press(&h, "12.5\r", 10); /* a scan is not a weight */
    assert_line(&h, NULL);
    press(&h, "12.5\r", 150);
    assert_line(&h, "@7 typed 12.5 kg");
}

/* Its cable may be pulled at any moment: also where the slash else means a lot or a reason. */
static void weights_are_typed_where_they_are_judged(void **state)
{
    static const uint8_t asks[] = {ASK_OVER, ASK_UNDER, ASK_CONFIRM};
    (void)state;
    for (unsigned i = 0; i < sizeof asks; i++) {
        struct hands h;
        start(&h, (enum ask)asks[i], WHAT_WEIGHT, BIT(KEEP) | BIT(LOT));
        h.v.scale_count = 1;
        h.v.scales[0] = (struct view_scale){.wanted = true, .link = LINK_UP};
        h.v.unit = UNIT_KG;
        h.v.prompt.item = 3;
        h.v.may_type = true;
        assert_int_not_equal(keys_writes(&h.v), ANSWER_TYPED);
        h.v.scales[0].link = LINK_UNPLUGGED;
        assert_int_equal(keys_writes(&h.v), ANSWER_TYPED);
        h.v.prompt.typed = true; /* a slip is typed anew; out of its band a reason or another lot is wanted */
        assert_int_equal(keys_writes(&h.v) == ANSWER_TYPED, asks[i] == ASK_CONFIRM);
        h.v.prompt.typed = h.v.may_type = false;
        assert_int_not_equal(keys_writes(&h.v), ANSWER_TYPED);
    }
}

static void sequences_of_the_terminal_are_no_keys(void **state)
{
    struct hands h;
    (void)state;
    start(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    press(&h, "\033[A\033[1;5C\033[200~\033OP\033x", 0);
    assert_line(&h, NULL);
    press(&h, "\033OM", 0); /* Enter of a number pad in application mode */
    assert_line(&h, "@7 yes");
    open_prompt(&h, ASK_CONFIRM, WHAT_WEIGHT, BIT(YES));
    press(&h, "\033", 0); /* a lone Escape swallows nothing */
    press(&h, "\r", 200);
    assert_line(&h, "@8 yes");
}

/* Whatever comes in: no crash, no answer longer than a line, no answer that can't be read. */
static void any_bytes(void **state)
{
    uint32_t seed = 7;
    (void)state;
    for (int round = 0; round < 2000; round++) {
        struct hands h;
        start(&h, (enum ask)(round % ASK_COUNT), (enum confirm_what)(round % 5), (uint32_t)round * 2654435761U);
        choose(&h, 0, ANSWER_LOT, "L1");
        choose(&h, 1, ANSWER_KEEP, "");
        h.v.state = (uint8_t)(round % 3 ? BATCH_RUNNING : BATCH_PAUSED);
        for (int i = 0; i < 60; i++) {
            char byte[2] = {0, 0};
            struct answer a;
            uint32_t at;
            seed = seed * 1664525U + 1013904223U;
            byte[0] = (char)(seed >> 24);
            h.answers = 0;
            press(&h, byte, seed >> 16 & 0xFF);
            if (!h.answers)
                continue;
            enum refusal_code code = answer_parse(h.line, &a, &at);
            assert_true(code == REFUSED_COUNT || code == REFUSED_VALUE);
            assert_int_equal(at, h.v.prompt_n);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(enter_accepts),
        cmocka_unit_test(enter_accepts_what_rests),
        cmocka_unit_test(not_patient),
        cmocka_unit_test(another_person_is_at_hand),
        cmocka_unit_test(out_of_sight),
        cmocka_unit_test(digits_pick),
        cmocka_unit_test(a_digit_waits_for_a_scan),
        cmocka_unit_test(a_scan_never_accepts_a_weight),
        cmocka_unit_test(a_late_enter_still_belongs_to_its_scan),
        cmocka_unit_test(nor_does_one_across_a_prompt),
        cmocka_unit_test(a_brushed_key_does_not_block_enter),
        cmocka_unit_test(lots_are_scanned_picked_or_typed),
        cmocka_unit_test(a_person_and_a_second_one),
        cmocka_unit_test(a_person_for_a_paused_batch),
        cmocka_unit_test(keys_before_the_prompt_are_dropped),
        cmocka_unit_test(half_a_scan_is_no_lot),
        cmocka_unit_test(a_held_key_answers_once),
        cmocka_unit_test(a_refused_answer_may_be_given_again),
        cmocka_unit_test(check_values_and_their_way_out),
        cmocka_unit_test(throwing_away_is_no_slip),
        cmocka_unit_test(a_wrong_lug_is_thrown_out),
        cmocka_unit_test(pause_and_what_follows),
        cmocka_unit_test(a_resume_is_answered_while_paused),
        cmocka_unit_test(a_held_batch_is_no_dead_end),
        cmocka_unit_test(weights_are_typed_only_on_a_dead_scale),
        cmocka_unit_test(weights_are_typed_where_they_are_judged),
        cmocka_unit_test(sequences_of_the_terminal_are_no_keys),
        cmocka_unit_test(any_bytes),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
