/* Batch: one batch's record, collected from the journal alone: its entries, and the texts that it kept. */
#ifndef REPORT_BATCH_H
#define REPORT_BATCH_H

#include "files/files.h"
#include "store/payload.h"

#define BATCH_LINES CAP_ITEMS
#define BATCH_STEPS 64
#define BATCH_EVENTS 200
#define BATCH_PERSONS 16

/* A weighing. Moments are microseconds since 1970, 0 = it did not happen. */
struct batch_line {
    struct record r;                          /* scale, ingredient: see the names */
    char ingredient[CAP_KEY], scale[CAP_KEY]; /* "" = none */
    uint8_t index;                            /* of the ingredient in the formula; NO_INGREDIENT = not known there */
    int64_t seq, weighed_us, added_us, discarded_us;
    char added_by[CAP_PERSON], discarded_by[CAP_PERSON];
};
/* An addition, instruction or check that was carried out. */
struct batch_step {
    struct record r;
    uint8_t index; /* of the step in the formula; NO_STEP = not known there */
    int64_t seq, us;
};
/* What happened on the way: a notice of the station, or a record that is not as the plan has it. */
struct batch_event {
    int64_t seq, us;
    bool notice;     /* else `r` says it */
    struct record r; /* notice: item and person only */
    char code[CAP_KEY], scale[CAP_KEY];
    bool has_mass;
    mass_pg mass;
};
struct batch_sum { /* of one ingredient; discarded portions don't count */
    bool any, has_target;
    mass_pg actual, target;    /* target: exact, by the formula */
    int64_t of_meat, of_total; /* millionths of a percent */
};
struct batch_substance { /* a regulated one */
    char key[CAP_KEY];
    uint8_t base; /* BASE_MEAT or BASE_TOTAL */
    bool has_limit, above;
    mass_pg mass, base_mass;
    int64_t level, limit; /* hundredths of a ppm */
    char source[CAP_NAME];
};

struct batch_report {
    char id[STORE_BATCH];
    uint8_t state; /* enum batch_state */
    uint8_t lang;  /* index into the formula's languages: the station's, else its first */
    uint8_t basis; /* enum meat_basis */
    bool has_formula, has_limits, has_basis;
    bool beyond;        /* the masses add up to more than can be held: no sums */
    mass_pg basis_mass; /* confirmed; declared or planned until then */
    struct batch_texts texts;
    struct formula formula;
    struct station station; /* name "" = not known */
    struct people people;
    struct limit limits[CAP_INGREDIENTS];
    int64_t started_us, ended_us; /* ended: 0 = it is open */
    int64_t first_seq, last_seq;
    uint8_t last_hash[STORE_HASH];
    unsigned unreadable; /* entries that claim to be records and are not */
    unsigned line_count, step_count, event_count, events_left_out, person_count, substance_count;
    struct batch_line lines[BATCH_LINES];
    struct batch_step steps[BATCH_STEPS];
    struct batch_event events[BATCH_EVENTS];
    char persons[BATCH_PERSONS][CAP_PERSON];
    uint8_t of_item[CAP_ITEMS + 1]; /* ingredient of each item, NO_INGREDIENT = none or not known */
    mass_pg meat, total;
    struct batch_sum sums[CAP_INGREDIENTS];
    struct batch_substance substances[CAP_INGREDIENTS];
};

/* Collects it into *out, which the caller frees. STORE_NONE: there is no such batch. */
enum store_result batch_load(struct store *s, const char *batch, struct batch_report **out);
/* The entries alone, into a report whose id, formula, limits and station are there already. */
enum store_result batch_collect(struct store *s, struct batch_report *b);
/* Fills sums, meat, total and substances from the lines. */
void batch_add_up(struct batch_report *b);

/* The line of this item, or NULL. */
const struct batch_line *batch_line_of(const struct batch_report *b, uint16_t item);
/* Meat whose mass was declared when the batch was begun: kept as typed, but nobody needed the right to type a weight. */
bool batch_declared(const struct batch_report *b, uint16_t item, const char *scale);
/* What a person reads: the ingredient's name in the report's language, else its key. */
const char *batch_line_name(const struct batch_report *b, const struct batch_line *line);
const char *batch_ingredient_name(const struct batch_report *b, uint8_t index);
/* A person's name by the code that entries carry, or NULL. */
const char *batch_person_name(const struct batch_report *b, const char *code);

#endif
