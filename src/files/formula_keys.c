/* The keys of a formula file. */
#include "files/formula_raw.h"

#define HEAD(m) offsetof(struct raw_head, m)
#define PART(m) offsetof(struct raw_part, m)
#define STEP(m) offsetof(struct raw_step, m)

static const struct key head_keys[] = {
    {"id", KEY_CODE, KEY_REQUIRED, CAP_KEY, HEAD(id), 0, 0, NULL, NULL, NULL, "short key of the formula, in records"},
    {"languages", KEY_RAW, 0, 0, HEAD(languages), 0, 0, NULL, "en",
     "at most three different languages of two or three letters, such as en de",
     "languages of the names and texts, the first for plain keys"},
    {"name", KEY_TEXT, KEY_REQUIRED | KEY_LANGS, CAP_NAME, HEAD(name), 0, 0, NULL, NULL, NULL,
     "name for people; name.de in German"},
    {"basis", KEY_CHOICE, 0, 1, HEAD(basis), 0, 0, "weighed|planned", "weighed", NULL,
     "weighed: all is scaled from what the lugs weighed; planned: from the mass in \"meat\""},
    {"meat", KEY_MASS, 0, 0, HEAD(meat), PG_PER_G, 9000 * PG_PER_KG, NULL, NULL, NULL,
     "mass of the meat block; for basis = planned only, and needed there"},
    {"class", KEY_CODE, 0, CAP_KEY, HEAD(product_class), 0, 0, NULL, NULL, NULL,
     "product class, by which limits are looked up; needed where an ingredient is regulated"},
    {"band", KEY_BAND, 0, 0, HEAD(band.both), 0, 0, NULL, NULL, NULL,
     "band around every target, both sides, unless an ingredient has its own"},
    {"band.under", KEY_BAND, 0, 0, HEAD(band.under), 0, 0, NULL, NULL, NULL, "its lower side alone"},
    {"band.over", KEY_BAND, 0, 0, HEAD(band.over), 0, 0, NULL, NULL, NULL, "its upper side alone"},
};

/* Shared by [meat] and [ingredient]. */
#define PART_NAME                                                                                                      \
    {                                                                                                                  \
        "name", KEY_TEXT, KEY_REQUIRED | KEY_LANGS, CAP_NAME, PART(name), 0, 0, NULL, NULL, NULL,                      \
            "name for people; name.de in German"                                                                       \
    }
#define PART_COMMON                                                                                                    \
    {"bin", KEY_WHOLE, 0, 2, PART(bin), 1, 999, NULL, NULL, NULL, "number of its bin, shown large; no two share one"}, \
        {"lot", KEY_BOOL, 0, 0, PART(lot), 0, 0, NULL, "yes", NULL, "its lot is asked"},                               \
        {"weigh",                                                                                                      \
         KEY_WHOLE,                                                                                                    \
         0,                                                                                                            \
         4,                                                                                                            \
         PART(weigh),                                                                                                  \
         1,                                                                                                            \
         999,                                                                                                          \
         NULL,                                                                                                         \
         NULL,                                                                                                         \
         NULL,                                                                                                         \
         "place in the order of weighing; without it the order of the file follows after"},                            \
        {"band", KEY_BAND, 0, 0, PART(band.both), 0, 0, NULL, NULL, NULL, "its own band, both sides"},                 \
        {"band.under", KEY_BAND, 0, 0, PART(band.under), 0, 0, NULL, NULL, NULL, "its lower side alone"},              \
        {"band.over", KEY_BAND, 0, 0, PART(band.over), 0, 0, NULL, NULL, NULL, "its upper side alone"},                \
        {"critical", KEY_BOOL, 0, 0, PART(critical), 0, 0, NULL, "no", NULL, "a second person confirms it"},           \
    {                                                                                                                  \
        "container", KEY_CODE, 0, CAP_KEY, PART(container), 0, 0, NULL, NULL, NULL,                                    \
            "a known container of the station file"                                                                    \
    }

static const struct key meat_keys[] = {
    PART_NAME,
    {"share", KEY_PERCENT, KEY_REQUIRED, 0, PART(share), 0, 0, NULL, NULL, NULL,
     "of the meat block, at most six decimals; the shares of all meats add up to exactly 100 %"},
    PART_COMMON,
};

static const struct key ingredient_keys[] = {
    PART_NAME,
    {"amount", KEY_AMOUNT, KEY_REQUIRED, 0, PART(amount), 0, 0, NULL, NULL, NULL, "how much of it is meant"},
    PART_COMMON,
    {"way", KEY_CHOICE, 0, 1, PART(way), 0, 0, "cup|tub|bag", "cup", NULL,
     "own cup; common tub with its neighbours in the order of weighing; out of the bag on the scale"},
    {"substance", KEY_CODE, 0, CAP_KEY, PART(substance), 0, 0, NULL, NULL, NULL,
     "regulated: what the law limits, as the limits file names it (sodium-nitrite)"},
    {"content", KEY_PERCENT, 0, 0, PART(content), 0, 0, NULL, NULL, NULL,
     "regulated: how much of this ingredient is that substance"},
};

static const struct key add_keys[] = {
    {"ingredients", KEY_RAW, KEY_REQUIRED, 0, STEP(ingredients), 0, 0, NULL, NULL,
     "names of [meat] and [ingredient] sections, with commas between", "what goes into the mixer together"},
    {"text", KEY_TEXT, KEY_LANGS, CAP_TEXT, STEP(text), 0, 0, NULL, NULL, NULL,
     "words shown with it; text.de in German"},
};

/* Shared by [instruction] and [check]. */
#define STEP_WORDS                                                                                                     \
    {                                                                                                                  \
        "text", KEY_TEXT, KEY_REQUIRED | KEY_LANGS, CAP_TEXT, STEP(text), 0, 0, NULL, NULL, NULL,                      \
            "what is to be done or measured; text.de in German"                                                        \
    }

static const struct key instruction_keys[] = {STEP_WORDS};

static const struct key check_keys[] = {
    STEP_WORDS,
    {"unit", KEY_TEXT, KEY_REQUIRED, 8, STEP(unit), 0, 0, NULL, NULL, NULL, "unit of the value, such as C or min"},
    {"low", KEY_THOUSANDS, 0, 0, STEP(low), -1000000000, 1000000000, NULL, NULL, NULL, "lowest good value"},
    {"high", KEY_THOUSANDS, 0, 0, STEP(high), -1000000000, 1000000000, NULL, NULL, NULL,
     "highest good value; at least one of low and high is needed"},
};

#define KEYS(list) (list), sizeof(list) / sizeof *(list)

static const struct section_kind sections[] = {
    {"formula", NULL, "The formula as a whole.", KEYS(head_keys), 1},
    {"meat", "KEY", "One meat of the meat block.", KEYS(meat_keys), 1},
    {"ingredient", "KEY", "Anything else that is weighed.", KEYS(ingredient_keys), 0},
    {"add", "KEY",
     "One addition to the mixer. The order of [add], [instruction] and [check] in the file is the procedure. Meats "
     "that "
     "no [add] lists go in first.",
     KEYS(add_keys), 0},
    {"instruction", "KEY", "Something to be done, confirmed by a person.", KEYS(instruction_keys), 0},
    {"check", "KEY", "Something to be measured.", KEYS(check_keys), 0},
};

const struct file_kind formula_kind = {"formula", "formulas",
                                       "What goes into a batch, how much of it, and in which order.", KEYS(sections)};
