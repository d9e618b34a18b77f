/* Sequence: one batch, from the first lug to the last addition.
 *
 * sequence_step is pure: state and event in, effects out. It reads no clock (every event carries its time) and touches
 * no disk: a record is a PROPOSAL in state->pending, announced by FX_RECORD. The station commits it and feeds back
 * EV_STORED or EV_STORE_FAILED; only sequence_apply moves the state, and resuming after a power cut is sequence_apply
 * over the open batch's records: one path.
 *
 * Invariants (each has a test that tries to break it, see tests/mutants.list):
 *  1 no live weight is accepted unless settled, fresh, of known unit, on the item's own scale and inside its band, or a
 *    person with the right gave a reason; a typed one needs the right to type and stays marked
 *  2 nothing is said to be recorded before EV_STORED
 *  5 sequence_apply over the records, then sequence_begin, is the same step of the same batch
 *  6 a regulated ingredient above its limit is never accepted. */
#ifndef CORE_SEQUENCE_H
#define CORE_SEQUENCE_H

#include "core/agree.h"
#include "core/flow.h"
#include "core/formula.h"
#include "core/record.h"
#include "core/scaling.h"

/* From ADD on it is a step of the procedure. */
enum item_kind { ITEM_MEAT, ITEM_WEIGH, ITEM_TUB, ITEM_BASIS, ITEM_ADD, ITEM_INSTRUCTION, ITEM_CHECK };
/* The order counts: from WEIGHED to IN_MIXER its net is in the batch. */
enum item_status {
    ITEM_WAITING,
    ITEM_TARED,     /* its container's tare is journalled */
    ITEM_WEIGHED,   /* accepted, still on the platform */
    ITEM_STAGED,    /* lifted off and set aside */
    ITEM_IN_MIXER,  /* added */
    ITEM_DONE,      /* basis, tub check, addition, instruction, check */
    ITEM_DISCARDED, /* thrown away; another item stands in its place */
};

struct item {
    uint16_t id, parent; /* 1.. ; parent 0 = none */
    uint8_t kind, status, way;
    uint8_t ingredient; /* MEAT, WEIGH; NO_INGREDIENT otherwise */
    uint8_t step;       /* ADD, INSTRUCTION, CHECK: index into formula->steps */
    uint8_t scale;      /* the scale it belongs on; NO_SCALE until known */
    uint8_t verdict, manner;
    bool lot_known;
    bool has_band;      /* target, low, high are known */
    bool unfit;         /* no scale is fit for its target: accepted only with a reason, never if it is regulated */
    bool more_answered; /* MEAT: "another lug?" has its answer */
    bool in_place;      /* the next portion goes on top: its tare is the gross of the one before (tub, second lot) */
    uint16_t
        rest; /* the item that weighs from another lot what this one lacked; 0 = none. Target and band then are those
                      of both together */
    mass_pg target, low, high;
    mass_pg gross, tare, net; /* CHECK: net holds the last value, in thousandths */
    char lot[CAP_LOT];
};

struct scale_setup {
    char name[CAP_KEY];
    mass_pg capacity, division; /* division > 0 */
    mass_pg min_load;           /* least net for its class */
    struct settle_rule settle;  /* its division equals `division` */
    struct flow_rule flow;      /* the same; division 0: no cues on this scale */
    bool agreeing;              /* two agreeing lines stand for rest (core/agree.h); its settle rule then never calls it
                                   silent and knows no gap */
};

/* Everything about the batch that does not change while it runs. */
struct setup {
    const struct formula *formula;
    const struct limit *limits; /* one per ingredient, index as formula->ingredients; share.den 0 = not regulated */
    const struct scale_setup *scales;
    uint8_t scale_count;
    uint8_t basis;            /* enum meat_basis */
    mass_pg basis_mass;       /* DECLARED or PLANNED */
    mass_pg container_max;    /* room left on a platform for a container when a scale is chosen */
    const mass_pg *cup_empty; /* per ingredient: expected empty weight of its known container, 0 = any container */
    const mass_pg *cup_off;   /* per ingredient: how far the container may be off it */
    bool second_person;       /* with a people file: a critical ingredient's second look must be another person's */
    bool people;              /* a people file exists: somebody must sign in */
    bool accept_auto;         /* a settled net in its band for accept_us is accepted without a key; never if critical */
    uint32_t accept_us;
};

/* Why a scale is not fit for a target. */
enum fit {
    FIT_GOOD,
    FIT_HEAVY,  /* with its container it passes the capacity */
    FIT_LIGHT,  /* below the least load of the scale's class */
    FIT_COARSE, /* the division is wider than the whole band */
};
enum fit scale_fit(const struct setup *setup, uint8_t scale, uint8_t ingredient, mass_pg target);

enum right { RIGHT_ACCEPT = 1, RIGHT_TYPE = 2, RIGHT_RELEASE = 4 };
struct person {
    char code[CAP_PERSON]; /* "" = nobody */
    uint8_t rights;        /* of enum right */
};

/* X(name, protocol word, takes a value) */
#define ANSWER_WORDS(X)                                                                                                \
    X(YES, "yes", "")                                                                                                  \
    X(NO, "no", "")                                                                                                    \
    X(DONE, "done", "")                                                                                                \
    X(LOT, "lot", "CODE")                                                                                              \
    X(KEEP, "keep", "REASON")                                                                                          \
    X(DISCARD, "discard", "")                                                                                          \
    X(SHORT, "short", "REASON")                                                                                        \
    X(HOLD, "hold", "")                                                                                                \
    X(VALUE, "value", "NUMBER")                                                                                        \
    X(TYPED, "typed", "MASS")                                                                                          \
    X(PERSON, "person", "CODE")                                                                                        \
    X(PAUSE, "pause", "")                                                                                              \
    X(GO, "go", "")                                                                                                    \
    X(STOP, "stop", "")                                                                                                \
    X(ABORT, "abort", "")

enum answer_word {
#define X(name, word, value) ANSWER_##name,
    ANSWER_WORDS(X)
#undef X
        ANSWER_COUNT
};

struct answer {
    uint32_t prompt;       /* id of the prompt it answers */
    uint8_t word;          /* enum answer_word */
    uint16_t item;         /* DISCARD at an addition: which weighed item was spilt; 0 = the prompt's own */
    int32_t value_milli;   /* VALUE */
    mass_pg mass;          /* TYPED */
    struct person who;     /* PERSON, and YES to a `second`: looked up by the station; code "" = not known */
    char text[CAP_REASON]; /* LOT, KEEP, SHORT */
};

/* Above UP it is dead. NOISE comes in events only: bytes came that no line of the profile is. TAKEN, UNUSABLE: it was
 * unplugged and is there again, but another program holds it, or it can't be opened for another reason. */
enum link_state { LINK_WAITING, LINK_UP, LINK_SILENT, LINK_UNPLUGGED, LINK_NOISE, LINK_TAKEN, LINK_UNUSABLE };

enum event_kind { EV_TICK, EV_READING, EV_LINK, EV_SIGN_IN, EV_ANSWER, EV_STORED, EV_STORE_FAILED };
struct event {
    uint8_t kind;
    uint8_t scale; /* READING, LINK */
    uint8_t link;  /* LINK: enum link_state; LINK_UP comes with the first good reading after a loss */
    uint64_t at;   /* monotonic microseconds; never runs backwards */
    union {
        struct reading reading;
        struct person person; /* SIGN_IN */
        struct answer answer;
    };
};

/* X(name, protocol's ask) */
#define PROMPT_ASKS(X)                                                                                                 \
    X(NOTHING, "")                                                                                                     \
    X(PERSON, "person")                                                                                                \
    X(LOT, "lot")                                                                                                      \
    X(CLEAR, "clear")                                                                                                  \
    X(CONTAINER, "container")                                                                                          \
    X(FILL, "fill")                                                                                                    \
    X(MORE, "more")                                                                                                    \
    X(OVER, "over")                                                                                                    \
    X(UNDER, "under")                                                                                                  \
    X(ADD, "add")                                                                                                      \
    X(CONFIRM, "confirm")                                                                                              \
    X(CHECK, "check")                                                                                                  \
    X(INSTRUCTION, "instruction")                                                                                      \
    X(RESUME, "resume")

enum ask {
#define X(name, word) ASK_##name,
    PROMPT_ASKS(X)
#undef X
        ASK_COUNT
};
/* RETRY: a `resume` that asks to store again what could not be stored.
 * EMPTY: a platform whose truth was lost is empty and at zero. CHANGED: what was accepted weighed otherwise before it was
 * lifted off. */
enum confirm_what { WHAT_NONE, WHAT_WEIGHT, WHAT_BASIS, WHAT_SECOND, WHAT_TUB, WHAT_RETRY, WHAT_EMPTY, WHAT_CHANGED };

struct prompt {
    uint32_t id; /* counts up from 1; 0 = none was ever open */
    uint8_t ask, what;
    uint16_t item; /* 0 = none */
    uint8_t scale, ingredient, way;
    bool back; /* CONTAINER: the part-filled one whose tare is journalled */
    bool has_band, has_empty;
    bool typed;       /* the net in question was typed */
    bool other;       /* CONFIRM of a second: another person's code is wanted; else a yes will do */
    uint32_t answers; /* bit 1 << enum answer_word: those this person may give now (beside those always taken) */
    mass_pg target, low, high;
    mass_pg empty; /* CONTAINER: expected empty weight */
    mass_pg net;   /* OVER, UNDER, CONFIRM: the settled net in question */
    mass_pg take;  /* OVER: how much should come out (band_inside) */
    mass_pg basis; /* CONFIRM of the basis */
};

/* X(name, protocol code) */
#define NOTICE_CODES(X)                                                                                                \
    X(SILENT, "silent")                                                                                                \
    X(UNPLUGGED, "unplugged")                                                                                          \
    X(BACK, "back")                                                                                                    \
    X(UNIT, "unit")                                                                                                    \
    X(MOTION, "motion")                                                                                                \
    X(ZERO, "zero")                                                                                                    \
    X(CONTAINER, "container")                                                                                          \
    X(OVER, "over")                                                                                                    \
    X(UNFIT, "unfit")                                                                                                  \
    X(LIMIT, "limit")                                                                                                  \
    X(STORE, "store")                                                                                                  \
    X(TARED, "tared")                                                                                                  \
    X(LOST, "lost")                                                                                                    \
    X(KEYS, "keys")                                                                                                    \
    X(FACTOR, "factor")                                                                                                \
    X(CONVERTED, "converted")                                                                                          \
    X(COARSE, "coarse")                                                                                                \
    X(OVERLOAD, "overload")                                                                                            \
    X(FILLED, "filled")                                                                                                \
    X(LIGHTER, "lighter")                                                                                              \
    X(CHANGED, "changed")                                                                                              \
    X(LOADED, "loaded")                                                                                                \
    X(DRIFT, "drift")                                                                                                  \
    X(GARBLED, "garbled")                                                                                              \
    X(SELDOM, "seldom")                                                                                                \
    X(BUSY, "busy")                                                                                                    \
    X(UNUSABLE, "unusable")                                                                                            \
    X(ELSEWHERE, "wrong-scale")

enum notice_code {
#define X(name, code) NOTICE_##name,
    NOTICE_CODES(X)
#undef X
        NOTICE_COUNT
};

/* X(name, protocol code) */
#define REFUSAL_CODES(X)                                                                                               \
    X(EARLY, "early")   /* given before the prompt could have been seen (station) */                                   \
    X(CLOSED, "closed") /* the prompt it names is no longer open */                                                    \
    X(WORD, "word")     /* this prompt does not take that word */                                                      \
    X(VALUE, "value")   /* the value is missing, not of its form or not possible */                                    \
    X(MOVING, "moving")                                                                                                \
    X(STALE, "stale") /* no fresh reading */                                                                           \
    X(BAND, "band")                                                                                                    \
    X(LIMIT, "limit")   /* above the lawful limit */                                                                   \
    X(RIGHT, "right")   /* this person may not */                                                                      \
    X(PERSON, "person") /* not a known person, or the same as the first */                                             \
    X(PAUSED, "paused")                                                                                                \
    X(LIVE, "live") /* a typed weight while the scale is alive */                                                      \
    X(STORING, "storing")                                                                                              \
    X(UNFIT, "unfit") /* no scale of the station is fit for it */                                                      \
    X(FULL, "full")   /* no room for another item */                                                                   \
    X(TUB, "tub")     /* the tub's gross does not agree */                                                             \
    X(EMPTY, "empty") /* the platform is not empty and at zero */

enum refusal_code {
#define X(name, code) REFUSED_##name,
    REFUSAL_CODES(X)
#undef X
        REFUSED_COUNT
};

enum sound { SOUND_ACCEPTED, SOUND_WRONG, SOUND_OVER, SOUND_EASE, SOUND_STOP, SOUND_COUNT };

enum effect_kind { FX_PROMPT, FX_RECORD, FX_NOTICE, FX_REFUSED, FX_STATE, FX_END, FX_SOUND, FX_CUE };
struct effect {
    uint8_t kind;
    uint8_t scale;      /* NOTICE */
    uint8_t code;       /* NOTICE, REFUSED, STATE (enum batch_state), SOUND, CUE (enum flow_cue); END: the exit code */
    uint8_t ingredient; /* NOTICE UNFIT, LIMIT; else NO_INGREDIENT */
    uint16_t item;      /* NOTICE; 0 = none */
    uint32_t prompt;    /* REFUSED: the prompt that was answered */
    mass_pg mass;       /* NOTICE: OVER, LIGHTER, CHANGED by how much; CONTAINER, FILLED, LOADED, DRIFT what was seen */
};
#define EFFECTS_MAX 12
struct effects {
    uint8_t count;
    struct effect list[EFFECTS_MAX];
};

/* The order counts: from CLEAR to SECOND a platform is looked at, and from FILL on a net is judged. */
enum phase {
    PHASE_NONE,
    PHASE_PERSON,
    PHASE_RESUME,
    PHASE_PROVE,
    PHASE_LOT,
    PHASE_CLEAR,
    PHASE_CHANGED, /* before it is set aside: its weight was not steady after it was accepted */
    PHASE_EMPTY,   /* the truth was lost: the person says that the platform is empty */
    PHASE_CONTAINER,
    PHASE_FILL,
    PHASE_OVER,
    PHASE_UNDER,
    PHASE_CONFIRM,
    PHASE_SECOND,
    PHASE_MORE,
    PHASE_BASIS,
    PHASE_TUB,
    PHASE_ADD,
    PHASE_INSTRUCTION,
    PHASE_CHECK,
    PHASE_RETRY, /* a record that nobody was asked for could not be stored */
    PHASE_ENDED,
    PHASE_COUNT
};

/* Where a platform stood unmoved by its own word, and where it had stood just before, with no moving reading between. */
struct stand {
    mass_pg at, before;
    uint32_t since; /* in 1,024 us, wraps */
    bool stands;
    bool jumped;  /* straight from one to the other, where it had stood for long enough */
    bool useless; /* loads come without the motion mark: it says nothing here */
};

/* In both: the small things first, near the front, for a small processor reaches those in fewer instructions. */
struct scale_state {
    uint8_t link; /* enum link_state */
    bool doubt;   /* what stands there may be another: at zero or at its earlier load before anything is accepted */
    bool lost;    /* and its zero may be false too: a person must see it empty (docs/zero-and-tare.md) */
    uint8_t why;  /* enum notice_code of what lost it */
    bool said_motion, said_unit, said_zero, said_container, said_tared;     /* the notice was given for this spell */
    bool said_overload, said_loaded, said_drift, said_garbled, said_seldom; /* so was this one */
    bool lifted;          /* what was accepted has left the platform: what comes onto it now is something else */
    bool known;           /* last_gross is of a settled weight */
    uint16_t holds;       /* the item whose container was last known to be on the platform; 0 = none */
    mass_pg last_gross;   /* the last settled gross */
    mass_pg zero;         /* what it showed when it was last cleared */
    mass_pg changed;      /* by how much the gross jumped since what `holds` was accepted; 0 = it did not */
    uint32_t under_since; /* in 1,024 us: since when it says "under zero"; 0 = not */
    uint32_t
        odd_since; /* in 1,024 us: since when something lies on it at a clear, or its container is too light; 0 = not */
    uint32_t dip_from,
        dip_to; /* in 1,024 us: since and until when the net was below nothing as the filling began; 0 = it was not */
    mass_pg dip_low;    /* and by how much at most, below 0 */
    uint8_t unit;       /* of the newest weight that was taken */
    mass_pg was, wrong; /* FACTOR: the gross before it jumped, and after; 0 = none */
    mass_pg seen;       /* of the newest reading with a weight, settled or not, before a doubt */
    uint64_t noise_since,
        noise_at;         /* bytes without a reading, the first and the newest; 0 = none since the last reading */
    uint64_t holed_since; /* its readings have not come without a hole for long enough since then; 0 = they have */
    struct stand stand;
    struct settle settle;
    struct flow flow;
    struct agree agree;
};

struct sequence {
    const struct setup *setup;
    struct item *items; /* caller's arrays of item_cap entries; items[k].id == k + 1 */
    uint16_t *order;    /* ids in working order */
    uint16_t item_count, item_cap;
    uint16_t current; /* id; 0 = none */
    uint8_t phase;    /* enum phase */
    uint8_t state;    /* enum batch_state */
    uint8_t proving;  /* PHASE_PROVE: which scale */
    bool started;     /* STARTED is stored */
    bool resumed;
    bool storing;      /* pending has been proposed and not been answered */
    bool queued;       /* `then` follows once pending is stored */
    bool typed;        /* the current item's net was typed */
    bool back;         /* the current item's container is to be put back */
    bool proved;       /* resumed: every platform was proved empty */
    bool poured;       /* something was seen in the current item's container */
    bool yes_knows;    /* whoever said the yes that waits had been told that the motion mark disagrees */
    bool said_empty;   /* CONTAINER: the person says that the one in question is empty */
    mass_pg not_empty; /* CONTAINER: so heavy, one that is tared anew with something in it was not emptied; 0 = none */
    mass_pg asked;     /* CONTAINER: the gross of one that looks filled, which the person is asked about; 0 = none */
    mass_pg typed_net;
    mass_pg over_net;       /* the highest net that was said to be over since it was last well inside; 0 = none */
    mass_pg opened_net;     /* the net at which CONFIRM or UNDER opened */
    mass_pg yes_net;        /* FILL, CONFIRM: the net that a waiting yes was said to */
    uint64_t yes_since;     /* and when; 0 = none waits */
    uint64_t in_band_since; /* CONFIRM with accept_auto; 0 = not */
    uint64_t begun_at;      /* of sequence_begin: a scale that never speaks is silent from here on */
    uint64_t quiet_until;   /* after a failed store a weight proposes nothing before this */
    mass_pg basis;          /* confirmed; 0 = not yet */
    struct prompt prompt;
    struct person person;
    struct scale_state scales[CAP_SCALES];
    struct record pending, then;
    struct person incoming; /* signs in once SIGNED_IN is stored */
    uint8_t why_word;       /* SECOND: the first person's answer, YES, KEEP, SHORT or LOT */
    char why[CAP_REASON];   /* SECOND: and its value */
};

/* Lays out the batch: the items of the formula in working order, but meats first unless the basis is planned (nothing else
 * has a target before their weight is known). FAIL_FULL: they don't fit. FAIL_SYNTAX: the order of weighing is not dense, or
 * a regulated ingredient goes into the common tub. FAIL_RANGE: no scale or more than CAP_SCALES, or a declared or planned
 * mass that is not above zero or scales to more than a mass can hold. The formula and all arrays must outlive the state.
 * Nothing is asked yet. */
enum fail sequence_init(struct sequence *s, const struct setup *setup, struct item *items, uint16_t *order,
                        uint16_t item_cap);
/* The first regulated ingredient that no scale is fit for at this basis, or NO_INGREDIENT; ingredient_count where the basis
 * scales to more than a mass can hold (FAIL_RANGE of sequence_init, for one that is weighed). Asked again before the basis is
 * confirmed; a planned batch is better refused before it begins. */
uint8_t sequence_unfit(const struct sequence *s, mass_pg basis);
/* Moves the state by one stored record; the only thing that does. FAIL_SYNTAX: the record does not fit the state. */
enum fail sequence_apply(struct sequence *s, const struct record *r);
/* Opens the first prompt (or, after records were applied, asks to resume). who: already signed in, or NULL. */
void sequence_begin(struct sequence *s, const struct person *who, uint64_t now, struct effects *fx);
/* One event. fx is emptied first. */
void sequence_step(struct sequence *s, const struct event *ev, struct effects *fx);
/* The moment, later than now, at which an EV_TICK is wanted; 0 = none. */
uint64_t sequence_next(const struct sequence *s, uint64_t now);

const struct item *sequence_item(const struct sequence *s, uint16_t id); /* NULL for 0 and unknown ids */
/* Net on the current item's platform by the newest reading (bag: what has left it). False: no fresh weight, or the
 * container's tare is not known. */
bool sequence_net(const struct sequence *s, uint64_t now, mass_pg *net);
/* While something with a band is filled by live weights: what flows, where it lands, and the cue that is shown (not yet
 * taken back by flow_steer's hold). Else nothing is known and there is no cue. */
struct flow_view sequence_flow(const struct sequence *s, uint64_t now);
/* FILL: the net rests in its band, though not for long enough to be recorded: a yes would wait for that now. */
bool sequence_rests(const struct sequence *s, uint64_t now);
/* The judgement of a scale now; *gross as settle_judge. */
enum settle_state sequence_scale(const struct sequence *s, uint8_t scale, uint64_t now, mass_pg *gross);

const char *ask_text(enum ask ask);
const char *answer_text(enum answer_word word);
const char *answer_value_text(enum answer_word word);
const char *notice_text(enum notice_code code);
const char *refusal_text(enum refusal_code code);
const char *confirm_what_text(enum confirm_what what);
const char *weigh_way_text(enum weigh_way way);

#endif
