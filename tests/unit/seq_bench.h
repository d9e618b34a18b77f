/* A bench for the sequence: the smokehouse's formula in C, two scales that send ten readings a second, a store that may
 * fail, and a hand that does what the open prompt asks. Every step is checked against the invariants on the way.
 *
 * The scenario's words act on the one bench B: put, pour, settle, yes, lot("A1"), expect_ask(ASK_FILL)... */
#ifndef TESTS_SEQ_BENCH_H
#define TESTS_SEQ_BENCH_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "core/seq_internal.h"

#define KG(n) ((mass_pg)(n)*PG_PER_KG)
#define G(n) ((mass_pg)(n)*PG_PER_G)
#define MG(n) ((mass_pg)(n)*PG_PER_MG)

enum { PORK, BEEF, WATER, SALT, CURE, SEASONING, CHEESE, INGREDIENTS };
enum { BENCH, FINE, SCALES };
/* Steps of the procedure. */
enum { ADD_MEAT, ADD_SPICE, MIX, TEMPERATURE, ADD_CHEESE, STEPS };

#define STORED_MAX 600
#define HEARD_MAX 16

struct bench_scale {
    mass_pg load;      /* what truly stands on the platform */
    mass_pg keys;      /* what its own tare key takes away; its lines then say "net" */
    bool unplugged;    /* no line, and the station was told */
    bool mute;         /* no line */
    bool unit;         /* shows a unit that can't be known */
    bool restless;     /* its motion mark says "moving" whatever happens */
    bool markless;     /* it says nothing of motion */
    bool stuck;        /* its motion mark says "stable" whatever happens */
    bool faulty;       /* it says "no weight yet" */
    mass_pg zero;      /* what it takes for zero */
    uint32_t num, den; /* its figures are these times too large: an unnamed unit; 0 = right */
    uint8_t names;     /* the unit that its line names; 0 = grams */
    mass_pg step;      /* one unit of its last place; 0 = its division */
    mass_pg felt;      /* of the reading before */
    uint8_t moving;    /* readings for which its motion mark is still up */
    uint64_t last_at;
    struct {
        uint64_t at;
        mass_pg mass;
        bool good; /* a gross weight in a known unit */
    } heard[HEARD_MAX];
    unsigned heard_count;
};

struct bench {
    struct formula formula;
    struct setup setup;
    struct scale_setup scales[CAP_SCALES];
    struct limit limits[CAP_INGREDIENTS];
    mass_pg cup_empty[CAP_INGREDIENTS], cup_off[CAP_INGREDIENTS];
    uint16_t item_cap;
    struct sequence s;
    struct item items[CAP_ITEMS];
    uint16_t order[CAP_ITEMS];
    struct person who; /* signed in at the start */

    uint64_t now;
    struct bench_scale at[SCALES];
    bool noise;     /* every reading is up to 0.4 divisions off */
    uint32_t seed;  /* of the noise */
    mass_pg lug[2]; /* what the hand puts on for a lug of pork, of beef */

    /* the store */
    unsigned fail_at;   /* this one from now on fails, once; 0 = none */
    bool fail_all;      /* disk full */
    bool keeps_waiting; /* answers only when store_answers() is called */
    struct record stored[STORED_MAX];
    unsigned stored_count;
    uint16_t current_after[STORED_MAX]; /* what was worked on once it was stored */

    /* a twin that only ever sees the stored records */
    struct sequence twin;
    struct item twin_items[CAP_ITEMS];
    uint16_t twin_order[CAP_ITEMS];

    /* what was said */
    unsigned notices[NOTICE_COUNT], sounds[SOUND_COUNT], prompts;
    unsigned cues[3]; /* by enum flow_cue: how often it came to be shown */
    mass_pg notice_mass;
    uint8_t notice_ingredient, notice_scale;
    uint8_t refused; /* REFUSED_COUNT = nothing was */
    uint8_t state;   /* of the newest FX_STATE */
    int end;         /* exit code, -1 = goes on */
};
extern struct bench B;

/* setting up: bench_new, then changes to B.setup and its kin, then bench_begin */
void bench_new(enum meat_basis basis, mass_pg mass);
enum fail bench_init(void);
void bench_begin(void);
/* The program is killed and started again: a new state from the stored records alone. */
void bench_restart(void);
void bench_rebuild(void); /* the state only, nothing asked yet */
void bench_twin_agrees(void);

/* time and platforms */
void bench_event(struct event *ev);
void pass(unsigned tenths); /* tenths of a second */
void settle(void);          /* long enough that what stands still is settled */
void put(uint8_t scale, mass_pg load);
void lift(uint8_t scale);
void pour(uint8_t scale, mass_pg more); /* within a second, and settles */
void unplug(uint8_t scale);
void plug(uint8_t scale);
void store_answers(void);

/* answers to the open prompt */
void answer(enum answer_word word, const char *text);
void answer_to(uint32_t prompt, enum answer_word word);
void yes(void);
void no(void);
void done(void);
void lot(const char *code);
void keep(const char *reason);
void spilt(uint16_t item); /* discard at an addition */
void value(int32_t milli);
void typed(mass_pg mass);
void person(const char *code, uint8_t rights);
void second(const char *code);

/* the hand */
bool bench_help(void);                          /* does what the prompt asks; false: ended */
bool bench_try(void);                           /* the same, but broken things stay broken */
void play_until(uint8_t ingredient, enum ask);  /* NO_INGREDIENT: any */
void play_past(uint8_t ingredient);             /* till something else is worked on */
void play_to_end(void);                         /* complete, or the test fails */
void bench_show(void);                          /* where it stands, to the error output */
mass_pg cup_of(uint8_t ingredient);             /* what its empty container weighs */
void fill_to(mass_pg net);                      /* puts so much into (takes it out of) the current container */
const struct item *item_of(uint8_t ingredient); /* the newest */
const struct record *last_of(enum record_kind kind);
unsigned count_of(enum record_kind kind, uint16_t item); /* item 0: any */

#define expect_ask(ask) expect_ask_at(ask, __FILE__, __LINE__)
#define expect_refused(code) expect_refused_at(code, __FILE__, __LINE__)
#define expect_notice(code) expect_notice_at(code, __FILE__, __LINE__)
#define expect_quiet(code) assert_int_equal(B.notices[code], 0)
#define expect_ended(batch_state, code) expect_ended_at(batch_state, code, __FILE__, __LINE__)
void expect_ask_at(enum ask ask, const char *file, int line);
void expect_refused_at(enum refusal_code code, const char *file, int line);
void expect_notice_at(enum notice_code code, const char *file, int line); /* and forgets it */
void expect_ended_at(enum batch_state state, int code, const char *file, int line);

#define RIGHTS_ALL (RIGHT_ACCEPT | RIGHT_TYPE | RIGHT_RELEASE)

#endif
