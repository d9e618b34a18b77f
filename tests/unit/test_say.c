/* What is said: the sentences and the JSON lines, key by key as docs/protocol.md promises them. */
#include "screen_fixture.h"

#include "screen/names.h"

static void assert_json(const struct say *s, const char *expected)
{
    char line[4096];
    size_t n = say_json(s, line, sizeof line);
    assert_int_equal(n, strlen(line));
    assert_string_equal(line, expected);
}

static void assert_sentence(const struct say *s, const char *expected)
{
    char text[600];
    size_t n = say_sentence(s, text, sizeof text);
    assert_int_equal(n, strlen(text));
    assert_string_equal(text, expected);
}

static void json_hello(void **state)
{
    struct fixture f;
    (void)state;
    fixture_init(&f);
    f.say.kind = SAY_HELLO;
    f.say.n = 1;
    f.say.batch = "";
    assert_json(&f.say, "{\"v\":1,\"n\":1,\"event\":\"hello\",\"batch\":null,\"resumed\":false,"
                        "\"last\":{\"batch\":null,\"state\":null}}");
    f.say.batch = "B7";
    f.say.resumed = true;
    f.say.last_batch = "B6";
    f.say.last_state = "complete";
    assert_json(&f.say, "{\"v\":1,\"n\":1,\"event\":\"hello\",\"batch\":\"B7\",\"resumed\":true,"
                        "\"last\":{\"batch\":\"B6\",\"state\":\"complete\"}}");
}

static void json_fill_and_lug(void **state)
{
    struct fixture f;
    (void)state;
    fixture_init(&f);
    fixture_prompt(&f, ASK_FILL);
    f.prompt.answers = 1U << ANSWER_DONE;
    f.say.cues = true;
    assert_json(&f.say,
                "{\"v\":1,\"n\":12,\"event\":\"prompt\",\"batch\":\"B7\",\"ask\":\"fill\",\"item\":3,"
                "\"parent\":null,\"ingredient\":\"cure\",\"name\":\"Curing salt\",\"bin\":4,\"scale\":\"fine\","
                "\"way\":\"cup\",\"target_g\":62.5,\"low_g\":62,\"high_g\":62.5,\"cues\":true,\"answers\":[\"done\"]}");
    f.prompt = (struct prompt){.ask = ASK_FILL, .item = 1, .ingredient = IN_PORK, .scale = NO_SCALE};
    f.say.cues = false;
    f.work[0].parent = 9;
    f.say.item = &f.work[0];
    assert_json(&f.say,
                "{\"v\":1,\"n\":12,\"event\":\"prompt\",\"batch\":\"B7\",\"ask\":\"fill\",\"item\":1,"
                "\"parent\":9,\"ingredient\":\"pork\",\"name\":\"Pork shoulder\",\"bin\":null,\"scale\":null,"
                "\"way\":\"cup\",\"target_g\":null,\"low_g\":null,\"high_g\":null,\"cues\":false,\"answers\":[]}");
}

static void json_over_container_basis(void **state)
{
    struct fixture f;
    char line[4096];
    (void)state;
    fixture_init(&f);
    fixture_prompt(&f, ASK_OVER);
    f.prompt.net = 70 * PG_PER_G;
    f.prompt.take = 7500 * PG_PER_MG;
    f.prompt.answers = 1U << ANSWER_KEEP | 1U << ANSWER_DISCARD;
    assert_true(say_json(&f.say, line, sizeof line));
    assert_non_null(
        strstr(line, "\"high_g\":62.5,\"net_g\":70,\"take_g\":7.5,\"answers\":[\"keep REASON\",\"discard\"]}"));

    fixture_prompt(&f, ASK_CONTAINER);
    f.prompt.has_empty = true;
    f.prompt.empty = 12034 * (PG_PER_G / 100);
    f.prompt.back = true;
    assert_true(say_json(&f.say, line, sizeof line));
    assert_non_null(strstr(line, "\"way\":\"cup\",\"empty_g\":120.34,\"back\":true,\"answers\":[]}"));
    f.prompt.has_empty = f.prompt.back = false;
    assert_true(say_json(&f.say, line, sizeof line));
    assert_non_null(strstr(line, "\"empty_g\":null,\"back\":false"));

    f.prompt = (struct prompt){.ask = ASK_CONFIRM,
                               .what = WHAT_BASIS,
                               .item = 2,
                               .scale = NO_SCALE,
                               .ingredient = NO_INGREDIENT,
                               .answers = 1U << ANSWER_YES | 1U << ANSWER_DISCARD,
                               .basis = 40120 * PG_PER_G};
    f.say.item = NULL;
    f.say.items = (const uint16_t[]){1, 5};
    f.say.item_count = 2;
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"prompt\",\"batch\":\"B7\",\"ask\":\"confirm\",\"item\":2,"
                        "\"parent\":null,\"ingredient\":null,\"name\":null,\"bin\":null,\"scale\":null,\"way\":null,"
                        "\"what\":\"basis\",\"basis_g\":40120,\"items\":[1,5],\"answers\":[\"yes\",\"discard ITEM\"]}");
}

static void json_add_instruction_check(void **state)
{
    struct fixture f;
    static const uint16_t items[] = {2, 3};
    char line[4096];
    (void)state;
    fixture_init(&f);
    fixture_prompt(&f, ASK_ADD);
    f.prompt.ingredient = NO_INGREDIENT;
    f.prompt.answers = 1U << ANSWER_YES | 1U << ANSWER_DISCARD;
    f.say.item = NULL;
    f.say.items = items;
    f.say.item_count = 2;
    assert_true(say_json(&f.say, line, sizeof line));
    assert_non_null(strstr(line, "\"items\":[2,3],\"text\":null,\"answers\":[\"yes\",\"discard ITEM\"]}"));
    assert_sentence(&f.say, "Put into the mixer now: Salt; Curing salt. Say yes when it is in.");
    f.say.step = &(struct step){.kind = STEP_ADD, .text = {"Fold in last."}}; /* the formula's words reach the mixer */
    assert_true(say_json(&f.say, line, sizeof line));
    assert_non_null(strstr(line, "\"items\":[2,3],\"text\":\"Fold in last.\","));
    assert_sentence(&f.say, "Put into the mixer now: Salt; Curing salt. Fold in last. Say yes when it is in.");

    f.prompt.ask = ASK_INSTRUCTION;
    f.say.step = &f.formula.steps[0];
    assert_true(say_json(&f.say, line, sizeof line));
    assert_non_null(strstr(line, "\"text\":\"Mix until tacky.\",\"answers\""));
    assert_null(strstr(line, "\"unit\""));

    f.prompt.ask = ASK_CHECK;
    f.say.step = &f.formula.steps[1];
    f.say.lang = 1;
    assert_true(say_json(&f.say, line, sizeof line));
    assert_non_null(strstr(line, "\"text\":\"Temperatur der Masse\",\"unit\":\"C\",\"low\":null,\"high\":4.5,"));
    assert_sentence(&f.say, "Temperatur der Masse (at most 4.5 C)");
}

static void json_recorded(void **state)
{
    struct fixture f;
    (void)state;
    fixture_init(&f);
    fixture_record(&f, SAY_RECORDED, REC_WEIGHED);
    assert_json(&f.say,
                "{\"v\":1,\"n\":12,\"event\":\"recorded\",\"batch\":\"B7\",\"item\":4,\"parent\":null,"
                "\"ingredient\":\"cheese\",\"lot\":\"K-88\",\"scale\":\"bench\",\"gross_g\":2145,\"tare_g\":145,"
                "\"target_g\":2000,\"low_g\":1980,\"high_g\":2020,\"actual_g\":2000,\"verdict\":\"in\","
                "\"manner\":\"live\",\"reason\":null,\"seq\":41}");
    f.record.has_band = f.record.has_gross = false;
    f.record.manner = MANNER_TYPED;
    f.record.verdict = VERDICT_UNDER;
    f.record.parent = 2;
    f.record.lot[0] = 0;
    snprintf(f.record.reason, sizeof f.record.reason, "bag \"B\" empty");
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"recorded\",\"batch\":\"B7\",\"item\":4,\"parent\":2,"
                        "\"ingredient\":\"cheese\",\"lot\":null,\"scale\":\"bench\",\"gross_g\":null,\"tare_g\":null,"
                        "\"target_g\":null,\"low_g\":null,\"high_g\":null,\"actual_g\":2000,\"verdict\":\"under\","
                        "\"manner\":\"typed\",\"reason\":\"bag \\\"B\\\" empty\",\"seq\":41}");
}

static void json_noted(void **state)
{
    struct fixture f;
    (void)state;
    fixture_init(&f);
    fixture_record(&f, SAY_NOTED, REC_CHECKED);
    f.record.value_milli = -1250;
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"noted\",\"batch\":\"B7\",\"item\":4,\"ask\":\"check\","
                        "\"value\":-1.25,\"seq\":41}");
    fixture_record(&f, SAY_NOTED, REC_MORE);
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"noted\",\"batch\":\"B7\",\"item\":4,\"ask\":\"more\","
                        "\"value\":\"no\",\"seq\":41}");
    fixture_record(&f, SAY_NOTED, REC_BASIS);
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"noted\",\"batch\":\"B7\",\"item\":4,\"ask\":\"confirm\","
                        "\"value\":\"yes\",\"basis_g\":2000,\"seq\":41}");
    fixture_record(&f, SAY_NOTED, REC_STATE);
    f.record.item = 0;
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"noted\",\"batch\":\"B7\",\"item\":null,\"ask\":\"resume\","
                        "\"value\":\"yes\",\"seq\":41}");
    fixture_record(&f, SAY_NOTED, REC_DISCARDED);
    f.prompt = (struct prompt){.ask = ASK_FILL};
    f.say.prompt = &f.prompt;
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"noted\",\"batch\":\"B7\",\"item\":4,\"ask\":\"fill\","
                        "\"value\":\"discard\",\"seq\":41}");
    fixture_record(&f, SAY_NOTED, REC_SIGNED_IN);
    snprintf(f.record.person, sizeof f.record.person, "AB");
    f.record.item = 0;
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"noted\",\"batch\":\"B7\",\"item\":null,\"ask\":\"person\","
                        "\"value\":\"AB\",\"seq\":41}");
}

static void declared_meat_is_not_asked_for_as_weighed(void **state)
{
    struct fixture f;
    (void)state;
    fixture_init(&f);
    fixture_prompt(&f, ASK_CONFIRM);
    f.prompt.what = WHAT_BASIS;
    f.prompt.basis = 10 * PG_PER_KG;
    f.setup.basis = BASIS_WEIGHED;
    f.say.unit = UNIT_KG;
    f.say.places = 3;
    assert_sentence(&f.say, "The meat weighs 10.000 kg; all else is worked out from it. Is that all the meat?");
    f.setup.basis = BASIS_DECLARED;
    assert_sentence(&f.say, "10.000 kg of meat is declared; all else is worked out from it. Is that right?");
}

/* What is wanted instead, by what was asked. */
static void a_wrong_value_is_told_by_what_was_asked(void **state)
{
    static const struct {
        enum ask ask;
        const char *says;
    } all[] = {{ASK_LOT, "That is no lot. Read it from the label once more."},
               {ASK_CHECK, "A number is wanted, such as 3.5."},
               {ASK_PERSON, "A person's code is wanted: initials or number."},
               {ASK_ADD, "That is none of what goes in now. Give the number before its name in the list."},
               {ASK_FILL, "The value is missing, too large or not of its form. Masses need a unit: 12.5 g."}};
    (void)state;
    for (unsigned i = 0; i < sizeof all / sizeof all[0]; i++) {
        struct fixture f;
        fixture_init(&f);
        fixture_effect(&f, SAY_REFUSED, REFUSED_VALUE);
        f.prompt.ask = (uint8_t)all[i].ask;
        f.say.prompt = &f.prompt;
        assert_sentence(&f.say, all[i].says);
        f.say.room = 95;
        assert_sentence(&f.say, "That is too long: at most 95 letters fit, fewer with accents. Say it shorter.");
    }
}

static void json_small_ones(void **state)
{
    struct fixture f;
    (void)state;
    fixture_init(&f);
    fixture_effect(&f, SAY_NOTICE, NOTICE_BACK);
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"notice\",\"scale\":\"fine\",\"code\":\"back\","
                        "\"text\":\"The fine scale is back.\"}");
    f.effect.scale = NO_SCALE;
    f.effect.code = NOTICE_STORE;
    f.say.why = "no space left";
    assert_json(&f.say,
                "{\"v\":1,\"n\":12,\"event\":\"notice\",\"scale\":null,\"code\":\"store\",\"text\":\"It could "
                "not be written to the journal, so it does not count yet. Ask the supervisor. no space left\"}");
    f.say.why = NULL;
    fixture_effect(&f, SAY_REFUSED, REFUSED_RIGHT);
    f.say.to = 11;
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"refused\",\"to\":11,\"code\":\"right\","
                        "\"text\":\"You may not decide this. Ask somebody who may.\"}");
    fixture_effect(&f, SAY_STATE, BATCH_PAUSED);
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"state\",\"batch\":\"B7\",\"state\":\"paused\"}");
    fixture_effect(&f, SAY_END, 1);
    assert_json(&f.say, "{\"v\":1,\"n\":12,\"event\":\"end\",\"exit\":1}");
    f.say = (struct say){.kind = SAY_READING,
                         .n = 3,
                         .setup = &f.setup,
                         .scale = 1,
                         .has_weight = true,
                         .gross = -PG_PER_G / 100,
                         .settled = SETTLE_MOVING};
    assert_json(
        &f.say,
        "{\"v\":1,\"n\":3,\"event\":\"reading\",\"scale\":\"fine\",\"gross_g\":-0.01,\"net_g\":null,"
        "\"state\":\"moving\",\"flow_g\":null,\"flow_error_g\":null,\"lands_g\":null,\"cue\":null,\"rests\":false}");
    f.say.has_net = f.say.has_flow = true;
    f.say.net = 50 * PG_PER_G;
    f.say.flow = 20 * PG_PER_G;
    f.say.flow_error = PG_PER_G / 2;
    f.say.lands = 62 * PG_PER_G;
    f.say.cue = CUE_STOP;
    assert_json(
        &f.say,
        "{\"v\":1,\"n\":3,\"event\":\"reading\",\"scale\":\"fine\",\"gross_g\":-0.01,\"net_g\":50,"
        "\"state\":\"moving\",\"flow_g\":20,\"flow_error_g\":0.5,\"lands_g\":62,\"cue\":\"stop\",\"rests\":false}");
    f.say.cue = CUE_NONE;
    f.say.rests = true;
    assert_json(
        &f.say,
        "{\"v\":1,\"n\":3,\"event\":\"reading\",\"scale\":\"fine\",\"gross_g\":-0.01,\"net_g\":50,"
        "\"state\":\"moving\",\"flow_g\":20,\"flow_error_g\":0.5,\"lands_g\":62,\"cue\":\"none\",\"rests\":true}");
}

static void too_small_a_buffer_is_no_line(void **state)
{
    struct fixture f;
    char line[4096];
    (void)state;
    fixture_init(&f);
    fixture_prompt(&f, ASK_FILL);
    size_t whole = say_json(&f.say, line, sizeof line);
    for (size_t cap = 1; cap <= whole; cap++)
        assert_int_equal(say_json(&f.say, line, cap), 0);
}

static void sentences_of_a_weighing(void **state)
{
    struct fixture f;
    (void)state;
    fixture_init(&f);
    assert_sentence(fixture_prompt(&f, ASK_LOT), "Which lot of Curing salt? Scan it, pick it or type it.");
    assert_sentence(fixture_prompt(&f, ASK_CLEAR), "Take everything off the fine scale and wait until it shows zero.");
    f.prompt.item = 0;
    assert_sentence(&f.say, "Take everything off the fine scale. It must show zero before the batch goes on.");
    assert_sentence(fixture_prompt(&f, ASK_CONTAINER), "Put the empty cup on the fine scale and let go.");
    f.prompt.has_empty = true;
    f.prompt.empty = 120 * PG_PER_G;
    assert_sentence(&f.say, "Put the empty cup (120.00 g) on the fine scale and let go.");
    f.prompt.way = WAY_BAG;
    assert_sentence(&f.say, "Put the full bag of Curing salt on the fine scale and let go.");
    f.prompt.back = true;
    assert_sentence(&f.say, "Put the part-filled bag of Curing salt back on the fine scale and let go.");
    assert_sentence(fixture_prompt(&f, ASK_FILL), "Put in Curing salt up to 62.50 g (62.00 g to 62.50 g is good).");
    fixture_prompt(&f, ASK_OVER);
    f.prompt.take = 35 * PG_PER_G;
    assert_sentence(&f.say, "Too much Curing salt. Take out 35.00 g.");
    fixture_prompt(&f, ASK_UNDER);
    f.prompt.net = 50 * PG_PER_G;
    assert_sentence(&f.say, "At least 12.00 g of Curing salt is missing. Put more in, or pick what to do.");
    fixture_prompt(&f, ASK_CONFIRM);
    f.prompt.what = WHAT_WEIGHT;
    f.prompt.net = 6225 * (PG_PER_G / 100);
    assert_sentence(&f.say, "62.25 g of Curing salt. Accept it?");
    f.prompt.typed = true;
    assert_sentence(&f.say, "62.25 g of Curing salt, typed by hand. Is that right?");
    fixture_prompt(&f, ASK_RESUME);
    f.prompt.what = WHAT_RETRY;
    assert_sentence(&f.say, "The last entry could not be stored. See to the disk, then say yes: it is tried again.");
    fixture_prompt(&f, ASK_RESUME);
    f.say.held = true;
    assert_sentence(&f.say, "Batch B7 is held. Without a people file nobody may release it: stop it or abort it.");
    f.setup.people = true;
    assert_sentence(&f.say,
                    "Batch B7 is held. Somebody with the right to release it must sign in; or stop or abort it.");
    f.prompt.answers = UINT32_C(1) << ANSWER_YES;
    assert_sentence(&f.say, "Batch B7 is held, its product withheld. Release it and go on?");
    f.say.held = false;
    assert_sentence(&f.say, "Batch B7 was interrupted. Go on with it?");
    f.say.lang = 1;
    assert_sentence(fixture_prompt(&f, ASK_LOT), "Which lot of Pökelsalz? Scan it, pick it or type it.");
}

static void masses_take_the_unit_of_the_scale(void **state)
{
    struct fixture f;
    (void)state;
    fixture_init(&f);
    fixture_prompt(&f, ASK_OVER);
    f.prompt.scale = 0;
    f.prompt.take = 35 * PG_PER_G;
    assert_sentence(&f.say, "Too much Curing salt. Take out 0.035 kg.");
    f.say.unit = UNIT_G; /* what it really shows goes before what its division suggests */
    f.say.places = 0;
    assert_sentence(&f.say, "Too much Curing salt. Take out 35 g.");
}

static void a_lug_is_called_a_lug(void **state)
{
    struct fixture f;
    (void)state;
    fixture_init(&f);
    fixture_prompt(&f, ASK_FILL);
    f.prompt.ingredient = IN_PORK;
    f.prompt.has_band = false;
    f.say.item = &f.work[0];
    assert_sentence(&f.say, "Fill the lug with Pork shoulder, any weight, then let go.");
    snprintf(f.scales[1].name, sizeof f.scales[1].name, "floor scale");
    f.prompt.ask = ASK_CONTAINER;
    assert_sentence(&f.say, "Put the empty lug on the floor scale and let go.");
}

/* Every code has a sentence, and no sentence keeps an unfilled field. */
static void no_code_is_speechless(void **state)
{
    struct fixture f;
    (void)state;
    struct {
        enum say_kind kind;
        unsigned count;
    } const all[] = {{SAY_NOTICE, NOTICE_COUNT},     {SAY_REFUSED, REFUSED_COUNT},
                     {SAY_STATE, BATCH_ABORTED + 1}, {SAY_END, 6},
                     {SAY_PROMPT, ASK_COUNT},        {SAY_NOTED, REC_COUNT}};
    for (size_t k = 0; k < sizeof all / sizeof all[0]; k++)
        for (unsigned code = 0; code < all[k].count; code++) {
            char text[600];
            fixture_init(&f);
            fixture_effect(&f, all[k].kind, (uint8_t)code);
            if (all[k].kind == SAY_PROMPT)
                fixture_prompt(&f, (enum ask)code);
            if (all[k].kind == SAY_NOTED)
                fixture_record(&f, SAY_NOTED, (enum record_kind)code);
            f.say.step = &f.formula.steps[1];
            bool nothing = all[k].kind == SAY_PROMPT && code == ASK_NOTHING;
            if ((say_sentence(&f.say, text, sizeof text) == 0) != nothing || strpbrk(text, "{}"))
                fail_msg("kind %d code %u: \"%s\"", (int)all[k].kind, code, text);
        }
}

/* One entry throws away all that lies in the cup, and says so. */
static void what_goes_with_it_is_told(void **state)
{
    struct fixture f;
    struct item work[2] = {{.id = 1, .kind = ITEM_WEIGH, .rest = 2},
                           {.id = 2, .kind = ITEM_WEIGH, .parent = 1, .in_place = true}};
    (void)state;
    fixture_init(&f);
    fixture_record(&f, SAY_NOTED, REC_DISCARDED);
    f.say.work = work;
    char alone[300], text[300];
    f.say.item = NULL;
    say_sentence(&f.say, alone, sizeof alone);
    assert_non_null(strstr(alone, "is thrown away; it is weighed again."));
    for (unsigned k = 0; k < 2; k++) {
        f.say.item = &work[k];
        say_sentence(&f.say, text, sizeof text);
        assert_non_null(strstr(text, "and with it what else lies in that cup"));
    }
    work[1].in_place = false; /* out of another bag */
    f.say.item = &work[0];
    say_sentence(&f.say, text, sizeof text);
    assert_string_equal(text, alone);
    work[0].way = WAY_TUB;
    say_sentence(&f.say, text, sizeof text);
    assert_string_equal(text, "The tub is thrown away with all that is in it; each is weighed again.");
}

/* Foreign text can't reach a terminal with a control in it: escape, C1 control, direction mark, broken UTF-8. */
static void hostile_names_are_disarmed(void **state)
{
    struct fixture f;
    (void)state;
    fixture_init(&f);
    snprintf(f.formula.ingredients[IN_CURE].name[0], CAP_NAME,
             "a\033[2Jb\xc2\x9b"
             "c\xe2\x80\xae"
             "d\xff"
             "e\nf");
    assert_sentence(fixture_prompt(&f, ASK_LOT), "Which lot of a?[2Jb?c?d?e?f? Scan it, pick it or type it.");
}

static const char *ask_word(unsigned code)
{
    return ask_text((enum ask)code);
}

static const char *answer_word(unsigned code)
{
    return answer_text((enum answer_word)code);
}

static const char *notice_word(unsigned code)
{
    return notice_text((enum notice_code)code);
}

static const char *refusal_word(unsigned code)
{
    return refusal_text((enum refusal_code)code);
}

static const char *state_word(unsigned code)
{
    return batch_state_text((enum batch_state)code);
}

static const char *settle_word(unsigned code)
{
    return settle_text((uint8_t)code);
}

static const char *way_word(unsigned code)
{
    return weigh_way_text((enum weigh_way)code);
}

static const char *what_word(unsigned code)
{
    return confirm_what_text((enum confirm_what)code);
}

/* docs/protocol.md names every code that can be said or taken. */
static void the_page_names_every_code(void **state)
{
    static char page[65536];
    FILE *f = fopen("docs/protocol.md", "r");
    (void)state;
    assert_non_null(f);
    page[fread(page, 1, sizeof page - 1, f)] = 0;
    fclose(f);
    struct {
        unsigned count;
        const char *(*word)(unsigned);
    } const lists[] = {{ASK_COUNT, ask_word},
                       {ANSWER_COUNT, answer_word},
                       {NOTICE_COUNT, notice_word},
                       {REFUSED_COUNT, refusal_word},
                       {BATCH_ABORTED + 1, state_word},
                       {SETTLE_DISPUTED + 1, settle_word},
                       {3, way_word},
                       {5, what_word}};
    for (size_t l = 0; l < sizeof lists / sizeof lists[0]; l++)
        for (unsigned code = 0; code < lists[l].count; code++) {
            char quoted[60];
            const char *word = lists[l].word(code);
            snprintf(quoted, sizeof quoted, "`%s`", word);
            if (*word && !strstr(page, quoted))
                fail_msg("docs/protocol.md does not name %s", quoted);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json_hello),
        cmocka_unit_test(json_fill_and_lug),
        cmocka_unit_test(json_over_container_basis),
        cmocka_unit_test(json_add_instruction_check),
        cmocka_unit_test(json_recorded),
        cmocka_unit_test(json_noted),
        cmocka_unit_test(declared_meat_is_not_asked_for_as_weighed),
        cmocka_unit_test(a_wrong_value_is_told_by_what_was_asked),
        cmocka_unit_test(json_small_ones),
        cmocka_unit_test(too_small_a_buffer_is_no_line),
        cmocka_unit_test(sentences_of_a_weighing),
        cmocka_unit_test(masses_take_the_unit_of_the_scale),
        cmocka_unit_test(a_lug_is_called_a_lug),
        cmocka_unit_test(no_code_is_speechless),
        cmocka_unit_test(what_goes_with_it_is_told),
        cmocka_unit_test(hostile_names_are_disarmed),
        cmocka_unit_test(the_page_names_every_code),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
