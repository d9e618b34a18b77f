/* Record: one proposed or stored journal entry of a batch, as core sees it. src/store/payload writes and reads its text. */
#ifndef CORE_RECORD_H
#define CORE_RECORD_H

#include "core/band.h"
#include "core/capacity.h"

/* X(name, journal kind, what it says). Items and masses not named by a kind are zero. */
#define RECORD_KINDS(X)                                                                                                \
    X(STARTED, "started", "the batch is opened: person, basis, declared or planned mass in `net`")                     \
    X(SIGNED_IN, "signed-in", "another person works on: person")                                                       \
    X(LOT, "lot", "item will be weighed from this lot: item, lot")                                                     \
    X(TARED, "tared",                                                                                                  \
      "the container stands on the platform: item, scale, tare, `known` if its empty weight was due, `asked` if a "    \
      "person said that it is empty, "                                                                                 \
      "`net` what the empty platform showed")                                                                          \
    X(WEIGHED, "weighed",                                                                                              \
      "accepted: every mass, verdict, manner, reason, second; next/next_lot if a second lot follows")                  \
    X(STAGED, "staged",                                                                                                \
      "the container was lifted off: item; `asked` if a person stood by a weight that changed by `net` on the "        \
      "platform")                                                                                                      \
    X(MORE, "more", "another lug (next is its item) or that's all (next 0): item")                                     \
    X(BASIS, "basis", "the meat basis is confirmed: item, `net` is its mass")                                          \
    X(TUB, "tub", "the common tub's gross agrees with its tare and nets: item, scale, gross, tare, net")               \
    X(DISCARDED, "discarded",                                                                                          \
      "item was thrown away with all that shares its cup or tub: net, reason; next is weighed in its place, and of a " \
      "tub "                                                                                                           \
      "the ids after it too")                                                                                          \
    X(ADDED, "added", "the weighed items of this addition are in the mixer: item")                                     \
    X(INSTRUCTED, "instructed", "an instruction was carried out: item")                                                \
    X(CHECKED, "checked", "a check's value: item, value_milli, verdict, reason if kept out of limits")                 \
    X(STATE, "state", "the batch's state changed: state, reason")                                                      \
    X(EMPTIED, "emptied",                                                                                              \
      "a person saw the platform empty after its truth was lost: scale, gross is what it shows, why")                  \
    X(UNTARED, "untared", "its tare can't be trusted, it is taken anew: item, scale, net is how much lighter it is")

enum record_kind {
#define X(name, kind, says) REC_##name,
    RECORD_KINDS(X)
#undef X
        REC_COUNT
};

enum manner { MANNER_LIVE, MANNER_TYPED, MANNER_LABEL };

/* ISA-88 words. From COMPLETE on the batch is closed for good. */
enum batch_state { BATCH_IDLE, BATCH_RUNNING, BATCH_PAUSED, BATCH_HELD, BATCH_COMPLETE, BATCH_STOPPED, BATCH_ABORTED };

struct record {
    uint8_t kind;                   /* enum record_kind */
    uint8_t scale, ingredient;      /* NO_SCALE, NO_INGREDIENT where none is meant */
    uint8_t verdict, manner, state; /* enum verdict, manner, batch_state */
    bool has_band;                  /* target, low, high are meant */
    bool has_gross;                 /* gross and tare are meant (not for a typed weight) */
    bool disputed;                  /* the scale's motion mark disagreed */
    bool agreed;                    /* at rest by two agreeing lines: core/agree.h */
    bool known;                     /* TARED: the container's empty weight was checked */
    uint8_t why;                    /* EMPTIED: enum notice_code of what lost the truth */
    bool asked;                     /* TARED, STAGED: a person stands by what looked wrong */
    uint16_t item, parent, next;
    int32_t value_milli;
    uint8_t basis; /* STARTED, BASIS: enum meat_basis */
    uint8_t step;  /* ADDED, INSTRUCTED, CHECKED: index into the formula's steps; NO_STEP where none is meant */
    mass_pg gross, tare, net, target, low, high;
    char lot[CAP_LOT], next_lot[CAP_LOT];
    char person[CAP_PERSON], second[CAP_PERSON];
    char reason[CAP_REASON];
};
#define NO_SCALE 255
#define NO_INGREDIENT 255
#define NO_STEP 255

const char *record_kind_text(enum record_kind kind);
const char *batch_state_text(enum batch_state state);
const char *verdict_text(enum verdict verdict);
const char *manner_text(enum manner manner);

#endif
