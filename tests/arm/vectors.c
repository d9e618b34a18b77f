/* A small batch of the smokehouse's bratwurst: few enough items for the small capacities of `make core-arm`. */
#include "tests/arm/vectors.h"

const char *const vector_masses[] = {
    "12.5 kg", "340g",    "-3 oz",       "3 lb 4.5 oz", "0.000001 mg", "9223 kg",     "9224 kg",   "1",
    "1.2.3 g", "",        "0.0001 oz",   "0.125 oz",    "7000 gr",     " 1 lb 0 oz ", "1 kg 2 oz", "1e3 g",
    "0x10 g",  ".",       ". kg",        "-",           "- 4 g",       "+4 g",        "00.10 KG",  "1 lb 16 oz",
    "1 st",    "12,5 kg", "99999999 kg", "g",           "1 g g",       "0.001 gr",    NULL,
};

#define PERCENT(share_num, share_den)                                                                                  \
    {                                                                                                                  \
        .under = {true, false, {share_num, share_den}, 0}, .over = { true, false, {share_num, share_den}, 0 }          \
    }

const struct formula vector_formula = {
    .id = "smoked-bratwurst-small",
    .lang = {"en"},
    .name = {"Smoked bratwurst, a small batch"},
    .lang_count = 1,
    .ingredient_count = 6,
    .step_count = 4,
    .basis = BASIS_WEIGHED,
    .ingredients =
        {
            {.key = "pork-shoulder",
             .name = {"Pork shoulder"},
             .bin = 1,
             .meat = true,
             .ask_lot = true,
             .base = BASE_BLOCK,
             .way = WAY_CUP,
             .weigh_order = 0,
             .add_step = 0,
             .share = {3, 4},
             .band = PERCENT(1, 50)},
            {.key = "pork-belly",
             .name = {"Pork belly"},
             .bin = 2,
             .meat = true,
             .base = BASE_BLOCK,
             .way = WAY_CUP,
             .weigh_order = 1,
             .add_step = 0,
             .share = {1, 4},
             .band = PERCENT(1, 50)},
            {.key = "ice-water",
             .name = {"Ice water"},
             .bin = 3,
             .base = BASE_MEAT,
             .way = WAY_CUP,
             .weigh_order = 2,
             .add_step = 0,
             .share = {1, 10},
             .band = PERCENT(1, 50)},
            {.key = "curing-salt",
             .name = {"Curing salt"},
             .bin = 4,
             .ask_lot = true,
             .critical = true,
             .base = BASE_MEAT,
             .way = WAY_CUP,
             .weigh_order = 3,
             .add_step = 0,
             .share = {9, 500},
             .band = PERCENT(1, 100),
             .substance = "sodium-nitrite",
             .content = {1, 200}},
            {.key = "seasoning",
             .name = {"Seasoning"},
             .bin = 5,
             .base = BASE_MEAT,
             .way = WAY_BAG,
             .weigh_order = 4,
             .add_step = 0,
             .share = {17, 567},
             .band = PERCENT(1, 20)},
            {.key = "mountain-cheese",
             .name = {"Mountain cheese"},
             .bin = 6,
             .ask_lot = true,
             .base = BASE_TOTAL,
             .way = WAY_CUP,
             .weigh_order = 5,
             .add_step = 2,
             .share = {1, 20},
             .band = PERCENT(1, 50)},
        },
    .steps =
        {
            {.kind = STEP_ADD, .key = "first"},
            {.kind = STEP_INSTRUCTION, .key = "mix", .text = {"Mix until tacky."}},
            {.kind = STEP_ADD, .key = "cheese"},
            {.kind = STEP_CHECK,
             .key = "cold",
             .text = {"Core temperature of the mix"},
             .unit = "C",
             .low_milli = CHECK_NONE,
             .high_milli = 12000},
        },
};

const struct profile vector_profile = {
    .name = "status-basis-signed",
    .baud = 9600,
    .bits = 8,
    .stop = 1,
    .sends = SENDS_CONTINUOUS,
    .end_len = 2,
    .end = "\r\n",
    .period_ms = 100,
    .silent_ms = 2000,
    .decimal = '.',
    .has_motion = true,
    .field_count = 8,
    .fields = {{FIELD_STATUS, 2, 0, 0, ""},
               {FIELD_LITERAL, 1, 1, 0, ","},
               {FIELD_BASIS, 2, 0, 0, ""},
               {FIELD_LITERAL, 1, 1, 0, ","},
               {FIELD_SIGN, 1, 0, 0, ""},
               {FIELD_WEIGHT, 7, 0, 0, ""},
               {FIELD_LITERAL, 1, 1, 0, " "},
               {FIELD_UNIT, 2, 0, 0, ""}},
    .word_count = 7,
    .words = {{FIELD_STATUS, READING_STABLE, 2, "ST"},
              {FIELD_STATUS, READING_MOVING, 2, "US"},
              {FIELD_STATUS, READING_OVER, 2, "OL"},
              {FIELD_BASIS, BASIS_GROSS, 2, "GS"},
              {FIELD_BASIS, BASIS_NET, 2, "NT"},
              {FIELD_UNIT, UNIT_G, 1, "g"},
              {FIELD_UNIT, UNIT_KG, 2, "kg"}},
};

static const struct scale_setup scales[] = {{.name = "bench",
                                             .capacity = 6 * PG_PER_KG,
                                             .division = PG_PER_G / 10,
                                             .min_load = 2 * PG_PER_G,
                                             .settle = {.division = PG_PER_G / 10},
                                             .flow = {.division = PG_PER_G / 10}}};
/* A limit of 120 mg per kg of meat, for these vectors only: not a rule of any country. */
static const struct limit limits[CAP_INGREDIENTS] = {
    [3] = {.substance = "sodium-nitrite", .base = BASE_MEAT, .share = {3, 25000}, .source = "made up for this check"}};
static const mass_pg cups[CAP_INGREDIENTS] = {[3] = 100 * PG_PER_G};
static const mass_pg cups_off[CAP_INGREDIENTS] = {[3] = 2 * PG_PER_G};

const struct setup vector_setup = {
    .formula = &vector_formula,
    .limits = limits,
    .scales = scales,
    .scale_count = 1,
    .basis = BASIS_WEIGHED,
    .container_max = PG_PER_KG / 2,
    .cup_empty = cups,
    .cup_off = cups_off,
    .people = true,
};

#define AT(times, grams)                                                                                               \
    {                                                                                                                  \
        VECTOR_LINE, 0, times, "ST,GS,+" grams " g \r\n", 0                                                            \
    }
#define MOVING(grams)                                                                                                  \
    {                                                                                                                  \
        VECTOR_LINE, 0, 3, "US,GS,+" grams " g \r\n", 0                                                                \
    }
#define SENDS(text)                                                                                                    \
    {                                                                                                                  \
        VECTOR_LINE, 0, 1, text, 0                                                                                     \
    }
#define SAYS(word, text)                                                                                               \
    {                                                                                                                  \
        VECTOR_ANSWER, ANSWER_##word, 1, text, 0                                                                       \
    }
#define EMPTY AT(16, "    0.0")

/* The weighings of 1,900 g of meat in three lugs and what belongs to them, with the usual mishaps. */
const struct vector vector_batch[] = {
    SAYS(PERSON, "KM"),
    SAYS(LOT, "P-0412"),
    /* a line cut off at its front, one that isn't a weight, one without an end */
    SENDS("0.0 g \r\n"),
    SENDS("* self test *\r\n"),
    SENDS("ST,GS,+    0.0 g ST,GS,+    0.0 g ST,GS,+    0.0 g ST,GS,+    0.0 g \r\n"),
    EMPTY,
    /* the first lug, then a second one, as the pretended disk fails once */
    AT(16, "  400.0"),
    MOVING("  900.0"),
    AT(16, " 1600.0"),
    {VECTOR_FAIL, 0, 1, "", 0},
    SAYS(YES, ""),
    AT(25, " 1600.0"),
    SAYS(YES, ""),
    SAYS(YES, ""),
    SAYS(LOT, "P-0413"),
    EMPTY,
    AT(16, "  400.0"),
    AT(16, "  700.0"),
    SAYS(YES, ""),
    SAYS(NO, ""),
    /* belly, then the basis */
    EMPTY,
    AT(16, "  400.0"),
    AT(16, "  800.0"),
    SAYS(PAUSE, ""),
    SAYS(YES, ""),
    SAYS(GO, ""),
    AT(3, "  800.0"),
    SAYS(YES, ""),
    SAYS(NO, ""),
    SAYS(YES, ""),
    /* ice water: too much, KM may not keep it, some is taken out */
    EMPTY,
    AT(16, "  100.0"),
    MOVING("  250.0"),
    AT(16, "  320.0"),
    SAYS(KEEP, "splashed"),
    AT(16, "  289.5"),
    SAYS(YES, ""),
    /* curing salt: the wrong cup first; a second person; the same one doesn't count; the scale shows net for a moment */
    SAYS(LOT, "N-17"),
    EMPTY,
    AT(16, "  120.0"),
    AT(16, "  100.5"),
    SENDS("ST,NT,+   34.2 g \r\n"),
    EMPTY,
    SAYS(YES, ""), /* seen empty: it may have been zeroed with the cup on it */
    AT(16, "  100.5"),
    AT(16, "  134.7"),
    SAYS(YES, ""),
    SAYS(YES, "KM"),
    SAYS(YES, "SR"),
    /* seasoning out of the bag; the scale is unplugged, SR types its label weight */
    EMPTY,
    AT(16, " 2000.0"),
    AT(5, " 1980.0"),
    {VECTOR_UNPLUG, 0, 1, "", 0},
    SAYS(TYPED, "57.0 g"),
    SAYS(PERSON, "SR"),
    SAYS(TYPED, "57.0 g"),
    SAYS(YES, ""),
    /* cheese from two lots, after silence and an overload */
    SAYS(LOT, "C-8"),
    {VECTOR_QUIET, 0, 30, "", 0},
    {VECTOR_LINE, 0, 3, "OL,GS,+ 9999.9 g \r\n", 0},
    EMPTY,
    AT(16, "  100.0"),
    AT(16, "  170.0"),
    SAYS(DONE, ""),
    SAYS(LOT, "C-9"),
    AT(16, "  214.8"),
    SAYS(YES, ""),
    /* into the mixer; the first temperature is too high */
    EMPTY,
    SAYS(YES, ""),
    SAYS(YES, ""),
    SAYS(YES, ""),
    {VECTOR_ANSWER, ANSWER_VALUE, 1, "", 13500},
    {VECTOR_ANSWER, ANSWER_VALUE, 1, "", 9000},
};
const uint16_t vector_batch_count = sizeof vector_batch / sizeof vector_batch[0];
