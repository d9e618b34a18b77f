/* A formula file as its sections say it, before the cross-checks turn it into a struct formula. */
#ifndef FILES_FORMULA_RAW_H
#define FILES_FORMULA_RAW_H

#include "files/table.h"

#define FIELD_ROOM(type, member) ((uint16_t)sizeof(((type *)0)->member))

/* band = ...; band.under and band.over go before it. */
struct raw_band {
    struct band_side both, under, over;
};
struct raw_head {
    char id[CAP_KEY], product_class[CAP_KEY];
    char name[CAP_LANGS][CAP_NAME];
    const char *languages;
    uint8_t basis; /* place in weighed|planned */
    mass_pg meat;
    struct raw_band band;
};
/* A [meat] or an [ingredient]. */
struct raw_part {
    const struct ini_section *section;
    char name[CAP_LANGS][CAP_NAME];
    bool meat, lot, critical;
    uint8_t way;
    uint16_t bin;
    uint32_t weigh; /* 0 = not given */
    struct amount amount;
    struct share share, content; /* share: a meat's, of the block */
    char substance[CAP_KEY], container[CAP_KEY];
    struct raw_band band;
};
/* An [add], [instruction] or [check]. */
struct raw_step {
    const struct ini_section *section;
    uint8_t kind; /* enum step_kind */
    char text[CAP_LANGS][CAP_TEXT];
    const char *ingredients;
    char unit[8];
    int32_t low, high;
};
struct raw_formula {
    const struct ini *doc;
    bool whole; /* every section could be read: what is missing is missing */
    struct languages langs;
    const struct ini_section *head_section;
    struct raw_head head;
    unsigned part_count, step_count;
    struct raw_part parts[CAP_INGREDIENTS];
    struct raw_step steps[CAP_STEPS];
};

/* Cross-checks and the rest of the work, each its own file; faults go to raw->doc->faults. */
void formula_parts(const struct raw_formula *raw, struct formula *out); /* ingredients, bands, shares */
void formula_order(const struct raw_formula *raw, struct formula *out); /* the order of weighing */
void formula_steps(const struct raw_formula *raw, struct formula *out); /* additions and the procedure */

#endif
