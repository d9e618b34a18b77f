/* Formula: ingredients as shares of the meat block, their bands, and the procedure. Filled by src/files, const after. */
#ifndef CORE_FORMULA_H
#define CORE_FORMULA_H

#include "core/band.h"
#include "core/capacity.h"

enum share_base {
    BASE_MEAT,  /* of the meat block */
    BASE_TOTAL, /* of all that goes into the mixer */
    BASE_BLOCK, /* a meat: its planned share of the block (the shares of all meats add up to 1) */
};
enum weigh_way { WAY_CUP, WAY_TUB, WAY_BAG };
enum meat_basis {
    BASIS_WEIGHED,  /* everything is scaled from what the lugs weighed */
    BASIS_DECLARED, /* from a typed mass (--meat) */
    BASIS_PLANNED,  /* from the formula's own mass; meat is weighed to its plan */
};

struct ingredient {
    char key[CAP_KEY];
    char name[CAP_LANGS][CAP_NAME]; /* "" where a language is missing: use name[0] */
    uint16_t bin;                   /* 1.. ; 0 = none */
    bool meat;
    bool ask_lot;
    bool critical;           /* a second person confirms it */
    uint8_t base;            /* enum share_base */
    uint8_t way;             /* enum weigh_way */
    uint8_t weigh_order;     /* place in the order of weighing, 0-based and dense over the formula */
    uint8_t add_step;        /* index into steps[] of the addition it goes in with */
    struct share share;      /* of its base */
    struct band_spec band;   /* already resolved: own or inherited */
    char substance[CAP_KEY]; /* regulated: the limit's key, e.g. sodium-nitrite; "" = not regulated */
    struct share content;    /* regulated: the fraction of this ingredient that is the substance */
    char container[CAP_KEY]; /* a known container of the station file; "" = any */
};

enum step_kind { STEP_ADD, STEP_INSTRUCTION, STEP_CHECK };
struct step {
    uint8_t kind; /* enum step_kind */
    char key[CAP_KEY];
    char text[CAP_LANGS][CAP_TEXT];
    /* STEP_CHECK: a number in `unit` ("C", "min"), in thousandths; a side without limit is CHECK_NONE. */
    char unit[8];
    int32_t low_milli, high_milli;
};
#define CHECK_NONE INT32_MIN

struct formula {
    char id[CAP_KEY];
    char product_class[CAP_KEY]; /* by which the limits file is looked up, e.g. comminuted; "" = none */
    char lang[CAP_LANGS][4];     /* "en", "de"; lang[0] is the formula's first */
    char name[CAP_LANGS][CAP_NAME];
    uint8_t lang_count, ingredient_count, step_count;
    uint8_t basis;        /* enum meat_basis: weighed or planned */
    mass_pg planned_meat; /* BASIS_PLANNED */
    struct ingredient ingredients[CAP_INGREDIENTS];
    struct step steps[CAP_STEPS]; /* in order; every ingredient is in exactly one STEP_ADD */
};

/* A limit on a substance, from a limits file, for the plant's jurisdiction and the formula's product class. */
struct limit {
    char substance[CAP_KEY];
    uint8_t base;       /* BASE_MEAT or BASE_TOTAL */
    struct share share; /* highest lawful mass of the substance per mass of the base */
    char source[CAP_NAME];
};

#endif
