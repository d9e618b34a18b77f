/* The batch record, the list and the exports: a small batch with all kinds of trouble, written into a journal as the
 * station does, and read back. Figures were worked out by hand. */
#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#include "report/export.h"
#include "report/list.h"
#include "report/page.h"
#include "report/show.h"
#include "report/when.h"
#include "report/words.h"

#define KG(n) ((mass_pg)(n)*PG_PER_KG)
#define G(n) ((mass_pg)(n)*PG_PER_G)
#define BEGAN INT64_C(1764050400000000) /* 2025-11-25T06:00:00Z */

static const char formula_text[] =
    "[formula]\nid = brat\nlanguages = en\nname = Br\xc3\xa4t, fine\nclass = comminuted\nband = 2 %\n"
    "[meat pork]\nname = Pork\nshare = 100 %\nweigh = 1\n"
    "[ingredient cure]\nname = Cure\namount = 2.5 g per kg of meat\nsubstance = sodium-nitrite\n"
    "content = 6.25 %\nweigh = 2\ncritical = yes\n"
    "[ingredient salt]\nname = Salt\namount = 1.5 % of meat\nweigh = 3\n"
    "[ingredient nuts]\nname = Nuts\namount = 10 % of meat\nweigh = 4\nway = bag\n"
    "[add all]\ningredients = pork, cure, salt, nuts\n"
    "[check cold]\ntext = How cold?\nunit = C\nlow = -2\nhigh = 4.4\n";
static const char limits_text[] =
    "[limit n]\nsubstance = sodium-nitrite\njurisdiction = us\nclass = comminuted\nof = meat\n"
    "max = 0.25 oz per 100 lb\nsource = 9 CFR 424.21(c)\n";
static const char station_text[] =
    "[station]\nname = Mixing room\njurisdiction = us\nlimits = us\nlanguage = en\n"
    "[scale bench]\nprofile = p\ndevice = /dev/null\ncapacity = 15 kg\ndivision = 5 g\n"
    "[scale fine]\nprofile = p\ndevice = /dev/full\ncapacity = 600 g\ndivision = 0.01 g\n";
static const char people_text[] =
    "[person a]\nname = Tam Harrowgill\ninitials = TH\nnumber = 1\nrights = accept\n"
    "[person b]\nname = Isla Fernbrook\ninitials = IF\nnumber = 2\nrights = accept, release\n";

enum { PORK, CURE, SALT, NUTS };
enum { ADD_ALL, COLD };
enum { BENCH, FINE };

static char folder[200], path[256], why[STORE_WHY];
static struct store *journal;
static struct formula formula;
static struct scale_setup scales[2];
static struct setup rig;
static struct batch_texts texts;
static const char *batch;
static int64_t now;
static char *out;
static size_t out_len;

static void keep(const char *name, const char *text, char hash[65])
{
    assert_int_equal(store_keep_text(journal, now, 1, name, text, strlen(text), hash, why), STORE_OK);
}

static int setup(void **state)
{
    static struct file_text text;
    static struct faults faults;
    (void)state;
    const char *tmp = getenv("TMPDIR");
    setenv("TZ", "UTC0", 1);
    tzset();
    snprintf(folder, sizeof folder, "%s/tareline-report-XXXXXX", tmp ? tmp : "/tmp");
    if (!mkdtemp(folder))
        return -1;
    snprintf(path, sizeof path, "%s/journal.db", folder);
    if (store_open(&journal, path, STORE_WRITE, why) != STORE_OK)
        return -1;
    memset(&faults, 0, sizeof faults);
    text.len = sizeof formula_text - 1;
    memcpy(text.text, formula_text, sizeof formula_text);
    if (!formula_read(&text, &formula, &faults)) {
        faults_print(&faults, stderr);
        return -1;
    }
    strcpy(scales[BENCH].name, "bench");
    strcpy(scales[FINE].name, "fine");
    rig = (struct setup){.formula = &formula, .scales = scales, .scale_count = 2};
    now = BEGAN;
    memset(&texts, 0, sizeof texts);
    keep("brat.ini", formula_text, texts.formula);
    keep("us.ini", limits_text, texts.limits);
    keep("station.ini", station_text, texts.station);
    keep("people.ini", people_text, texts.people);
    strcpy(texts.formula_id, "brat");
    strcpy(texts.formula_name, "Br\xc3\xa4t, fine");
    return 0;
}

static int teardown(void **state)
{
    char command[300];
    (void)state;
    free(out);
    out = NULL;
    store_close(journal);
    snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command) == 0 ? 0 : -1;
}

static void put_entry(const char *kind, const char *person, const char *payload)
{
    struct entry e = {.utc_us = now, .mono_us = 1, .kind = kind, .batch = batch, .person = person, .payload = payload};
    now += 60 * 1000000;
    if (store_append(journal, &e, NULL, why) != STORE_OK)
        fail_msg("%s", why);
}

static struct record blank(enum record_kind kind, uint16_t item)
{
    return (struct record){.kind = (uint8_t)kind,
                           .item = item,
                           .scale = NO_SCALE,
                           .ingredient = NO_INGREDIENT,
                           .step = NO_STEP,
                           .state = BATCH_RUNNING,
                           .person = "TH"};
}

static void put(const struct record *r)
{
    char payload[PAYLOAD_MAX];
    assert_true(payload_write(r, &rig, r->kind == REC_STARTED ? &texts : NULL, payload, sizeof payload));
    put_entry(record_kind_text((enum record_kind)r->kind), r->person, payload);
}

static void begin(const char *id)
{
    struct record r = blank(REC_STARTED, 0);
    batch = id;
    put(&r);
}

static void state_to(enum batch_state state)
{
    struct record r = blank(REC_STATE, 0);
    r.state = (uint8_t)state;
    put(&r);
}

static struct record weighing(uint16_t item, uint8_t ingredient, uint8_t scale, mass_pg net)
{
    struct record r = blank(REC_WEIGHED, item);
    r.ingredient = ingredient;
    r.scale = scale;
    r.has_gross = true;
    r.tare = scale == BENCH ? G(1200) : G(85);
    r.gross = r.tare + net;
    r.net = net;
    strcpy(r.lot, "P1107");
    return r;
}

static void pork(uint16_t item, mass_pg net)
{
    struct record r = weighing(item, PORK, BENCH, net);
    put(&r);
}

static void basis(mass_pg mass)
{
    struct record r = blank(REC_BASIS, 2);
    r.net = mass;
    put(&r);
}

static void banded(struct record *r, mass_pg target, mass_pg low, mass_pg high)
{
    r->has_band = true;
    r->target = target;
    r->low = low;
    r->high = high;
    r->verdict = r->net > high ? VERDICT_OVER : r->net < low ? VERDICT_UNDER : VERDICT_IN;
}

static void cure(uint16_t item, mass_pg net)
{
    struct record r = weighing(item, CURE, FINE, net);
    banded(&r, G(25), G(24), G(25));
    strcpy(r.second, "IF");
    put(&r);
}

static void add_all(void)
{
    struct record r = blank(REC_ADDED, 5);
    r.step = ADD_ALL;
    put(&r);
}

/* 10 kg of pork in two lugs, cure to the limit, salt kept 3 g over its band with a reason. */
static void whole_batch(void)
{
    begin("b1");
    pork(1, KG(6));
    pork(6, KG(4));
    basis(KG(10));
    cure(3, G(25));
    put_entry("notice", "TH", "{\"code\":\"silent\",\"scale\":\"fine\",\"item\":4}");
    put_entry("notice", "TH", "{\"code\":\"back\",\"scale\":\"fine\",\"item\":4}");
    put_entry("notice", "TH", "{\"code\":\"over\",\"scale\":\"fine\",\"item\":4,\"mass_pg\":3250000000000}");
    struct record r = weighing(4, SALT, FINE, G(156));
    banded(&r, G(150), G(147), G(153));
    strcpy(r.reason, "lump, agreed");
    r.agreed = true;
    put(&r);
    add_all();
    r = blank(REC_CHECKED, 7);
    r.step = COLD;
    r.value_milli = 2500;
    put(&r);
    state_to(BATCH_COMPLETE);
}

static struct batch_report *load(const char *id)
{
    struct batch_report *b = NULL;
    assert_int_equal(batch_load(journal, id, &b), STORE_OK);
    return b;
}

static void text_of(const char *id)
{
    struct batch_report *b = load(id);
    free(out);
    FILE *to = open_memstream(&out, &out_len);
    show_text(b, to);
    fclose(to);
    free(b);
}

/* Blanks and line ends alike: where a line is wrapped is not what is asked. */
static char *flat(const char *text)
{
    char *copy = malloc(strlen(text) + 1), *to = copy;
    assert_non_null(copy);
    for (; *text; text++) {
        bool blank = *text == ' ' || *text == '\n';
        if (!blank)
            *to++ = *text;
        else if (to > copy && to[-1] != ' ')
            *to++ = ' ';
    }
    *to = '\0';
    return copy;
}

static void says(const char *words)
{
    char *all = flat(out), *due = flat(words);
    bool there = strstr(all, due);
    free(all);
    free(due);
    if (!there) {
        fputs(out, stderr);
        fail_msg("\"%s\" is not in it", words);
    }
}

static void never_says(const char *words)
{
    if (strstr(out, words))
        fail_msg("\"%s\" is in:\n%s", words, out);
}

static void test_sums_and_levels(void **state)
{
    (void)state;
    whole_batch();
    struct batch_report *b = load("b1");
    assert_int_equal(b->line_count, 4);
    assert_true(b->meat == KG(10));
    assert_true(b->total == KG(10) + G(181));
    assert_true(b->sums[PORK].actual == KG(10) && b->sums[PORK].of_meat == 100000000);
    assert_true(b->sums[CURE].target == G(25) && b->sums[SALT].target == G(150));
    assert_int_equal(b->sums[SALT].of_meat, 1560000);  /* 156 / 10000 */
    assert_int_equal(b->sums[SALT].of_total, 1532266); /* 156 / 10181 = 1.5322659... % */
    assert_int_equal(b->substance_count, 1);
    /* 9 CFR 424.21(c): 1/4 oz per 100 lb = 1/6400 = 156.25 ppm; 25 g of a 6.25 % cure in 10 kg is just that */
    assert_int_equal(b->substances[0].level, 15625);
    assert_int_equal(b->substances[0].limit, 15625);
    assert_false(b->substances[0].above);
    assert_int_equal(b->state, BATCH_COMPLETE);
    assert_true(b->ended_us > b->started_us);
    for (unsigned k = 0; k < b->line_count; k++)
        assert_true(b->lines[k].added_us > b->lines[k].weighed_us);
    free(b);
}

/* The level that is shown is rounded, the judgement is not. */
static void test_a_hair_above_the_limit(void **state)
{
    (void)state;
    begin("b1");
    pork(1, KG(10));
    basis(KG(10));
    cure(3, G(25) + 16); /* picograms */
    struct batch_report *b = load("b1");
    assert_int_equal(b->substances[0].level, 15625);
    assert_true(b->substances[0].above);
    free(b);
    text_of("b1");
    says("156.25 ppm of the meat so far; limit 156.25 ppm");
    says("ABOVE THE LIMIT");
}

static void test_text_of_a_whole_batch(void **state)
{
    (void)state;
    whole_batch();
    text_of("b1");
    says("Br\xc3\xa4t, fine");
    says("State        complete");
    says("Begun        2025-11-25 06:00:00 UTC");
    says("TH (Tam Harrowgill), IF (Isla Fernbrook)");
    says("Mixing room; jurisdiction us");
    says("10.000 kg of meat, weighed, confirmed");
    says(texts.formula);
    says("gross 7.200 kg, tare 1.200 kg, scale bench, live, lot P1107");
    says("target 25.00 g, band 24.00 g to 25.00 g, difference 0.00 g");
    says("seconded by IF, added 06:09:00 by TH");
    says("target 150.00 g, band 147.00 g to 153.00 g, difference +6.00 g");
    says("OVER\n");
    says("scale fine, live, lot P1107, at rest by two\n      agreeing lines");
    says("reason: lump, agreed");
    says("06:05:00 TH    scale fine fell silent");
    says("06:07:00 TH    Salt (item 4): 3.25 g above its band, caught in its container");
    says("Salt (item 4): 156.00 g accepted above its band (to 153.00 g), at\n               rest by two agreeing "
         "lines; reason: lump, agreed");
    says("added: Pork; Cure; Salt");
    says("How cold?: 2.5 C, limits -2 C to 4.4 C, within");
    says("sodium-nitrite: 156.25 ppm of the meat; limit 156.25 ppm (9 CFR 424.21(c)): not");
    says("100.000 %");
}

/* The station asks for a second look; where it need not be another's, the record must not make it one. */
static void test_own_second_look_is_no_second_person(void **state)
{
    (void)state;
    begin("b1");
    pork(1, KG(10));
    struct record r = weighing(3, CURE, FINE, G(25));
    strcpy(r.second, r.person);
    put(&r);
    text_of("b1");
    says("looked at again by the same person");
    never_says("seconded");
}

/* Declared meat is no weight that somebody typed for a dead scale; salt without a scale is one, in the same batch. */
static void test_declared_meat_is_not_typed(void **state)
{
    (void)state;
    struct record r = blank(REC_STARTED, 0);
    batch = "b1";
    r.basis = BASIS_DECLARED;
    r.net = KG(10);
    put(&r);
    r = weighing(1, PORK, BENCH, KG(10));
    r.manner = MANNER_TYPED;
    r.has_gross = false;
    r.gross = r.tare = 0;
    r.scale = NO_SCALE;
    put(&r);
    text_of("b1");
    says("no scale, DECLARED, not weighed");
    says("10.000 kg, declared, not weighed");
    never_says("TYPED BY HAND");
    never_says("typed by hand");
    r.item = 4;
    r.ingredient = SALT;
    put(&r);
    text_of("b1");
    says("TYPED BY HAND");
    says("typed by hand");
}

/* Whatever people typed: no line is longer than the page, and nothing reaches the reader's terminal as a control. */
static void test_text_keeps_to_its_page(void **state)
{
    (void)state;
    whole_batch();
    begin("b2");
    struct record r = weighing(1, PORK, BENCH, KG(1));
    strcpy(r.lot, "\x1b[31mred\x7f\xc2\x9b");
    strcpy(r.reason, "a reason that goes on and on, word by word, for as long as the column of a reason can hold it.");
    r.verdict = VERDICT_UNDER;
    put(&r);
    for (const char *id = "b1"; id; id = *id == 'b' && id[1] == '1' ? "b2" : NULL) {
        text_of(id);
        never_says("\x1b");
        never_says("\x7f");
        never_says("\xc2\x9b");
        char *line = out;
        for (char *end; (end = strchr(line, '\n')) != NULL; line = end + 1) {
            *end = '\0';
            if (page_columns(line) > PAGE_WIDTH)
                fail_msg("%u columns: %s", page_columns(line), line);
            assert_true(end == line || end[-1] != ' ');
        }
    }
}

/* A second lot lies on the first in the same cup: thrown away, both are. What replaces them counts alone. */
static void test_discarded_portions_do_not_count(void **state)
{
    (void)state;
    begin("b1");
    pork(1, KG(10));
    basis(KG(10));
    struct record r = weighing(4, SALT, FINE, G(100));
    r.next = 8;
    strcpy(r.next_lot, "S2");
    put(&r);
    r = weighing(8, SALT, FINE, G(50));
    r.parent = 4;
    put(&r);
    r = blank(REC_DISCARDED, 8);
    r.ingredient = SALT;
    r.scale = FINE;
    r.parent = 4;
    r.net = G(50);
    r.next = 9;
    strcpy(r.reason, "spilt");
    put(&r);
    r = weighing(9, SALT, FINE, G(149));
    r.parent = 8;
    put(&r);
    add_all();
    struct batch_report *b = load("b1");
    assert_true(b->sums[SALT].actual == G(149));
    assert_true(b->total == KG(10) + G(149));
    assert_true(batch_line_of(b, 4)->discarded_us && batch_line_of(b, 8)->discarded_us);
    assert_true(!batch_line_of(b, 4)->added_us && batch_line_of(b, 9)->added_us);
    free(b);
    text_of("b1");
    says("Salt (item 8): 50.00 g thrown away, with it 100.00 g (item 4), weighed again as item 9;");
    says("the rest from lot S2 as item 8");
    says("DISCARDED 06:05:00 by TH: not counted");
    says("Salt (after item 8)");
}

/* A portion thrown away before it was accepted takes along the accepted one below it, and nothing else. */
static void test_discarded_before_it_was_accepted(void **state)
{
    (void)state;
    begin("b1");
    pork(1, KG(10));
    struct record r = weighing(4, SALT, FINE, G(100));
    r.next = 8;
    put(&r);
    r = blank(REC_DISCARDED, 8);
    r.net = G(90);
    put(&r);
    struct batch_report *b = load("b1");
    assert_true(batch_line_of(b, 4)->discarded_us);
    assert_false(batch_line_of(b, 1)->discarded_us);
    free(b);
}

/* Out of the bag each lot has a bag of its own: one that is thrown away leaves the other. */
static void test_discarded_out_of_the_bag(void **state)
{
    (void)state;
    begin("b1");
    pork(1, KG(10));
    struct record r = weighing(4, NUTS, BENCH, G(400));
    r.next = 8;
    put(&r);
    r = weighing(8, NUTS, BENCH, G(600));
    r.parent = 4;
    put(&r);
    r = blank(REC_DISCARDED, 8);
    r.ingredient = NUTS;
    put(&r);
    struct batch_report *b = load("b1");
    assert_false(batch_line_of(b, 4)->discarded_us);
    assert_true(batch_line_of(b, 8)->discarded_us);
    free(b);
}

/* A journal that somebody made up: items that follow themselves. */
static void test_hostile_links_end(void **state)
{
    (void)state;
    begin("b1");
    struct record r = weighing(4, SALT, FINE, G(1));
    r.next = 4;
    put(&r);
    r = weighing(5, SALT, FINE, G(1));
    r.next = 4;
    put(&r);
    r = blank(REC_DISCARDED, 4);
    r.ingredient = SALT;
    put(&r);
    free(load("b1"));
}

static void test_an_open_batch(void **state)
{
    (void)state;
    begin("b1");
    pork(1, KG(6));
    state_to(BATCH_PAUSED);
    state_to(BATCH_RUNNING);
    struct record r = blank(REC_SIGNED_IN, 0);
    strcpy(r.person, "IF");
    put(&r);
    r = weighing(4, SALT, FINE, G(20));
    r.manner = MANNER_TYPED;
    r.has_gross = false;
    r.gross = r.tare = 0;
    r.scale = NO_SCALE;
    put(&r);
    state_to(BATCH_HELD);
    text_of("b1");
    says("State        HELD");
    says("Ended        not yet");
    says("the meat as weighed, not yet confirmed");
    says("not added yet");
    says("no scale, TYPED BY HAND");
    says("paused\n");
    says("gone on with\n");
    says("IF (Isla Fernbrook) took over");
    says("typed by hand");
    struct batch_report *b = load("b1");
    assert_int_equal(b->ended_us, 0);
    assert_false(b->sums[SALT].has_target);
    free(b);
    state_to(BATCH_STOPPED);
    text_of("b1");
    says("State        STOPPED");
    says("NOT ADDED");
}

static void test_without_the_formulas_text(void **state)
{
    (void)state;
    strcpy(texts.formula, "00");
    whole_batch();
    text_of("b1");
    says("NOTE");
    says("salt");
    says("156.00 g");
    never_says("INGREDIENTS");
    never_says("REGULATED");
}

static void test_more_than_can_be_added_up(void **state)
{
    (void)state;
    begin("b1");
    pork(1, KG(9000));
    pork(6, KG(9000));
    struct batch_report *b = load("b1");
    assert_true(b->beyond);
    free(b);
    text_of("b1");
    says("add up to more than can be held");
}

static void test_no_such_batch(void **state)
{
    struct batch_report *b = NULL;
    char id[STORE_BATCH];
    (void)state;
    assert_int_equal(batch_load(journal, "b1", &b), STORE_NONE);
    assert_null(b);
    assert_int_equal(list_newest(journal, id), STORE_OK);
    assert_string_equal(id, "");
}

static void test_events_are_bounded(void **state)
{
    (void)state;
    begin("b1");
    for (int n = 0; n < BATCH_EVENTS + 3; n++)
        put_entry("notice", "TH", "{\"code\":\"silent\",\"scale\":\"fine\"}");
    text_of("b1");
    says("and 3 more; tareline records export shows them");
}

static void test_an_unreadable_entry_is_told(void **state)
{
    (void)state;
    begin("b1");
    put_entry("weighed", "TH", "{\"item\":\"one\"}");
    text_of("b1");
    says("1 entries can't be read; run tareline records verify.");
}

static void exported(const char *id, enum export_form form)
{
    free(out);
    FILE *to = open_memstream(&out, &out_len);
    assert_int_equal(export_entries(journal, id, form, to), STORE_OK);
    fclose(to);
}

/* docs/protocol.md: a weighing has the keys of `recorded`. */
static void test_export_json(void **state)
{
    (void)state;
    begin("b1");
    struct record r = weighing(4, SALT, FINE, G(156) + PG_PER_MG);
    banded(&r, G(150), G(147), G(153));
    strcpy(r.reason, "l\xc3\xa4ump \"x\"");
    put(&r);
    exported("b1", EXPORT_JSON);
    says("\n{\"seq\":6,\"utc\":\"2025-11-25T06:01:00.000000Z\",\"kind\":\"weighed\",\"batch\":\"b1\",\"person\":\"TH\","
         "\"item\":4,\"parent\":null,\"ingredient\":\"salt\",\"lot\":\"P1107\",\"scale\":\"fine\",\"gross_g\":241.001,"
         "\"tare_g\":85,\"target_g\":150,\"low_g\":147,\"high_g\":153,\"actual_g\":156.001,\"verdict\":\"over\","
         "\"manner\":\"live\",\"reason\":\"l\xc3\xa4ump \\\"x\\\"\"}\n");
    never_says("_pg");
    exported(NULL, EXPORT_JSON);
    says("{\"seq\":1,\"utc\":\"2025-11-25T06:00:00.000000Z\",\"kind\":\"text\",\"batch\":null,\"person\":null,"
         "\"name\":\"brat.ini\",");
}

/* RFC 4180: CRLF, quotes doubled, the same number of cells in every row. */
static void test_export_csv(void **state)
{
    (void)state;
    begin("b1");
    struct record r = weighing(4, SALT, FINE, G(156));
    strcpy(r.reason, "a, \"b\"\nc");
    put(&r);
    exported("b1", EXPORT_CSV);
    assert_int_equal(strncmp(out, "seq,utc,kind,batch,person,item,", 31), 0);
    says(",\"a, \"\"b\"\"\nc\",");
    says("\r\n6,2025-11-25T06:01:00.000000Z,weighed,b1,TH,4,,salt,P1107,fine,241,85,,,,156,,in,live,");
    unsigned cells = 1, due = 0, rows = 0;
    bool quoted = false;
    for (const char *p = out; *p; p++) {
        quoted = quoted != (*p == '"');
        cells += *p == ',' && !quoted;
        if (*p == '\n' && !quoted) {
            assert_true(p[-1] == '\r');
            due = due ? due : cells;
            assert_int_equal(cells, due);
            cells = 1;
            rows++;
        }
    }
    assert_int_equal(rows, 3);
}

static void test_export_of_no_batch(void **state)
{
    (void)state;
    begin("b1");
    FILE *to = fopen("/dev/null", "w");
    assert_int_equal(export_entries(journal, "b9", EXPORT_JSON, to), STORE_NONE);
    fclose(to);
}

/* Whatever a record can say has a column: what the JSON lines name, the header names too. */
static void test_every_key_has_a_column(void **state)
{
    (void)state;
    begin("b1");
    for (int kind = 0; kind < REC_COUNT; kind++) {
        if (kind == REC_STARTED)
            continue;
        struct record r = weighing(4, SALT, FINE, G(1));
        banded(&r, G(2), G(1), G(3));
        r.kind = (uint8_t)kind;
        r.parent = 3;
        r.next = 9;
        r.step = ADD_ALL;
        r.why = NOTICE_KEYS;
        r.disputed = r.agreed = r.known = r.asked = true;
        strcpy(r.next_lot, "S2");
        strcpy(r.second, "IF");
        strcpy(r.reason, "so");
        put(&r);
    }
    static char header[2000];
    exported(NULL, EXPORT_CSV);
    snprintf(header, sizeof header, ",%.*s,", (int)strcspn(out, "\r"), out);
    exported(NULL, EXPORT_JSON);
    unsigned keys = 0;
    for (const char *at = out; (at = strstr(at, "\":")) != NULL; at += 2) {
        const char *from = at;
        while (from > out && (from[-1] == '_' || (from[-1] >= 'a' && from[-1] <= 'z')))
            from--;
        char key[60];
        if (from == at || from[-1] != '"' || (from[-2] != ',' && from[-2] != '{'))
            continue; /* within a text */
        snprintf(key, sizeof key, ",%.*s,", (int)(at - from), from);
        keys++;
        if (!strstr(header, key))
            fail_msg("no column for %s", key);
    }
    assert_true(keys > 100);
}

static void test_list(void **state)
{
    int64_t count;
    char id[STORE_BATCH];
    (void)state;
    whole_batch();
    begin("b2");
    free(out);
    FILE *to = open_memstream(&out, &out_len);
    assert_int_equal(list_batches(journal, LIST_TEXT, to, &count), STORE_OK);
    assert_int_equal(list_batches(journal, LIST_JSON, to, &count), STORE_OK);
    assert_int_equal(list_batches(journal, LIST_CSV, to, &count), STORE_OK);
    fclose(to);
    assert_int_equal(count, 2);
    says("b1                     2025-11-25 06:00:00 complete  Br\xc3\xa4t, fine\n");
    says("{\"batch\":\"b2\",\"formula\":\"brat\",\"formula_name\":\"Br\xc3\xa4t, "
         "fine\",\"state\":\"running\",\"person\":\"TH\"");
    says("b1,brat,\"Br\xc3\xa4t, fine\",complete,TH,");
    assert_int_equal(list_newest(journal, id), STORE_OK);
    assert_string_equal(id, "b2");
}

static void test_json_of_a_batch(void **state)
{
    (void)state;
    whole_batch();
    struct batch_report *b = load("b1");
    free(out);
    FILE *to = open_memstream(&out, &out_len);
    assert_true(show_json(b, to));
    fclose(to);
    free(b);
    says("{\"v\":1,\"batch\":\"b1\",\"state\":\"complete\",\"formula\":\"brat\"");
    says("\"basis\":\"weighed\",\"basis_g\":10000,\"basis_confirmed\":true");
    says("{\"ingredient\":\"salt\",\"meat\":false,\"actual_g\":156,\"target_g\":150,\"difference_g\":6,\"meat_pct\":1."
         "56,"
         "\"total_pct\":1.532266}");
    says("{\"substance\":\"sodium-nitrite\",\"mass_g\":1.5625,\"of\":\"meat\",\"of_g\":10000,\"level_ppm\":156.25,"
         "\"limit_ppm\":156.25,\"source\":\"9 CFR 424.21(c)\",\"verdict\":\"in\"}");
    says("\"value\":2.5,\"unit\":\"C\",\"low\":-2,\"high\":4.4,\"verdict\":\"in\"");
    says("\"kind\":\"notice\",\"code\":\"over\",\"item\":4,\"scale\":\"fine\",\"mass_g\":3.25,");
}

/* The figures of a pound scale are not exact in grams of few places: they are shown in pounds. */
static void test_units_of_the_scale(void **state)
{
    struct batch_report *b = calloc(1, sizeof *b);
    char text[MASS_TEXT_MAX];
    (void)state;
    assert_non_null(b);
    const mass_pg pounds[] = {PG_PER_LB * 5 / 2, PG_PER_LB / 100};
    struct look look = look_of(b, "lb", pounds, 2);
    assert_string_equal(look_mass(look, pounds[0], text), "2.50 lb");
    const mass_pg grams[] = {G(1) / 100, G(85)};
    look = look_of(b, "", grams, 2);
    assert_string_equal(look_mass(look, grams[1], text), "85.00 g");
    assert_string_equal(look_difference(look, -grams[0], text), "-0.01 g");
    assert_string_equal(look_difference(look, grams[0], text), "+0.01 g");
    assert_string_equal(look_difference(look, 0, text), "0.00 g");
    assert_string_equal(look_difference(look, grams[0] / 10, text), "0.00 g"); /* nothing that could be read */
    assert_string_equal(look_difference(look, -grams[0] / 10, text), "0.00 g");
    assert_string_equal(words_check(-500, "C", text), "-0.5 C");
    assert_string_equal(words_check(71100, "C", text), "71.1 C");
    free(b);
}

static void test_moments(void **state)
{
    char text[WHEN_TEXT];
    (void)state;
    when_utc(-1, text);
    assert_string_equal(text, "1969-12-31T23:59:59.999999Z");
    when_utc(INT64_C(1709164800000001), text);
    assert_string_equal(text, "2024-02-29T00:00:00.000001Z");
    setenv("TZ", "EST5", 1);
    tzset();
    when_read_local(INT64_C(1709164800000000), text);
    assert_string_equal(text, "2024-02-28 19:00:00 EST");
    when_read_local(INT64_C(1709208000000000), text);
    assert_string_equal(text, "07:00:00 EST");
}

#define T(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        T(test_sums_and_levels),
        T(test_a_hair_above_the_limit),
        T(test_text_of_a_whole_batch),
        T(test_own_second_look_is_no_second_person),
        T(test_declared_meat_is_not_typed),
        T(test_text_keeps_to_its_page),
        T(test_discarded_portions_do_not_count),
        T(test_discarded_before_it_was_accepted),
        T(test_discarded_out_of_the_bag),
        T(test_hostile_links_end),
        T(test_an_open_batch),
        T(test_without_the_formulas_text),
        T(test_more_than_can_be_added_up),
        T(test_no_such_batch),
        T(test_events_are_bounded),
        T(test_an_unreadable_entry_is_told),
        T(test_export_json),
        T(test_export_csv),
        T(test_export_of_no_batch),
        T(test_every_key_has_a_column),
        T(test_list),
        T(test_json_of_a_batch),
        T(test_units_of_the_scale),
        T(test_moments),
    };
    return cmocka_run_group_tests_name("report", tests, NULL, NULL);
}
