/* Shared by the files of the sequence only: not for use outside src/core. */
#ifndef CORE_SEQ_INTERNAL_H
#define CORE_SEQ_INTERNAL_H

#include "core/sequence.h"

/* One row per phase of a work item: the table that the prompts, the answers and the weight rules are read from. */
struct phase_row {
    uint8_t ask, what; /* enum ask, confirm_what */
    bool weighing;     /* the current item's container is concerned: its net is judged, `typed` is possible */
    uint16_t answers;  /* words it takes; rights and the item's kind may take some away */
};
const struct phase_row *phase_row(enum phase phase);

/* silent_us with its default. */
static inline uint64_t seq_silent_us(const struct settle_rule *rule)
{
    return rule->silent_us ? rule->silent_us : 2000000;
}

/* Short times in 32 bits: 1,024 us each. They wrap after 51 days; only differences count. */
static inline uint32_t seq_ticks(uint64_t at)
{
    return (uint32_t)(at >> 10);
}

#define TAKES(word) ((uint16_t)(1u << ANSWER_##word))

/* items */
struct item *seq_item(struct sequence *s, uint16_t id);
struct item *seq_current(struct sequence *s);
struct item *seq_new_child(struct sequence *s, const struct item *after);
void seq_targets(struct sequence *s);
bool seq_may_discard(const struct item *it);
/* Begun or accepted in the common tub. */
bool seq_in_tub(const struct item *it);
/* It weighs the rest of its parent from another lot. */
bool seq_is_rest(const struct sequence *s, const struct item *it);
/* How many items stand in the place of what is thrown away with it. */
uint16_t seq_discard_makes(const struct sequence *s, const struct item *it);
/* Nothing more is to be done to it (MEAT: nor asked). */
bool seq_finished(const struct item *it);
mass_pg seq_meat_net(const struct sequence *s);

/* fitness */
struct portion {
    uint8_t ingredient;
    mass_pg target, limit; /* exact; limit -1: not regulated */
};
bool seq_fits(const struct setup *setup, uint8_t scale, const struct portion *p);
/* The finest scale that fits, or NO_SCALE. */
uint8_t seq_pick_scale(const struct setup *setup, const struct portion *p);
/* The finest that at least holds it, else the roomiest. */
uint8_t seq_least_bad_scale(const struct setup *setup, const struct portion *p);
/* Meats have no target to fit: they go where most room is. */
uint8_t seq_largest_scale(const struct setup *setup);
/* The finest that holds all that goes into the common tub, else the roomiest. */
uint8_t seq_tub_scale(const struct setup *setup, const mass_pg *targets);
/* How many equal portions bring the target under the roomiest scale's capacity. */
uint16_t seq_portions_of(const struct setup *setup, uint8_t ingredient, mass_pg target);
/* How many more items the portions of this basis need. */
uint16_t seq_portions(const struct sequence *s, mass_pg basis);

/* limits */
bool seq_is_regulated(const struct setup *setup, uint8_t ingredient);
/* The limit on this ingredient for a meat basis; -1: not regulated; 0 where it can't be worked out. */
mass_pg seq_lawful_mass(const struct setup *setup, uint8_t i, mass_pg meat, const mass_pg *targets);
/* Most that may still lawfully go in as this item; false: not regulated or no basis yet. */
bool seq_lawful(const struct sequence *s, const struct item *it, mass_pg *most);
/* A regulated ingredient of which more was accepted than the meat allows, or NO_INGREDIENT. */
uint8_t seq_above_limit(const struct sequence *s);
/* Planned, and the meat came out short: what is not weighed yet must not go above the limit of what there is. */
void seq_lower_to_limit(struct sequence *s);

/* weight */
mass_pg seq_division(const struct sequence *s, uint8_t scale);
/* False: no tare yet, or the bag is off the platform (what it lost can't be told from what it weighs). */
bool seq_item_net(const struct sequence *s, const struct item *it, mass_pg gross, mass_pg *net);
/* band_inside of its band, which is known. */
mass_pg seq_inside(const struct sequence *s, const struct item *it);
enum verdict seq_judge(const struct item *it, mass_pg net);
bool seq_settled(const struct sequence *s, uint8_t scale, uint64_t now, mass_pg *gross, bool *disputed);
mass_pg seq_distance(mass_pg a, mass_pg b); /* INT64_MAX where it does not fit */
/* At most so many divisions apart. */
bool seq_near(const struct sequence *s, uint8_t scale, mass_pg a, mass_pg b, int divisions);
bool seq_empty(const struct sequence *s, uint8_t scale, mass_pg gross);
/* Above what the platform shows when it is empty, in divisions counted from there: more than a load's least. */
bool seq_loaded(const struct sequence *s, uint8_t scale, mass_pg gross);
void seq_propose_staged(struct sequence *s, uint8_t scale, bool asked, struct effects *fx);
/* PHASE_CHANGED: the accepted item in question, and the net that stood there in the end. */
const struct item *seq_changed(const struct sequence *s, mass_pg *net);
void seq_emptied(struct sequence *s, uint8_t scale, struct effects *fx);

/* truth: whether a scale's figures still mean what they meant (docs/zero-and-tare.md) */
/* Nothing is accepted on it before a person has seen it empty. */
void seq_lose(struct sequence *s, uint8_t scale, enum notice_code why, struct effects *fx);
/* The person's yes to "is it empty?", and its record once it is stored. */
void seq_confirm_empty(struct sequence *s, uint64_t now, struct effects *fx);
void seq_found_again(struct sequence *s, uint8_t scale, struct effects *fx);
/* Why its weight can't be taken now; REFUSED_COUNT: it is settled, at *gross. */
enum refusal_code seq_unsettled(const struct sequence *s, uint8_t scale, uint64_t now, mass_pg *gross, bool *disputed);
void seq_feed(struct sequence *s, const struct event *ev, struct effects *fx);
/* line: how what a scale sends arrives */
void seq_watch_links(struct sequence *s, uint64_t now, struct effects *fx);
void seq_link(struct sequence *s, const struct event *ev, struct effects *fx);
/* After each reading. */
void seq_watch_holes(struct sequence *s, uint8_t scale, struct effects *fx);
/* A settled gross, before it is taken for the last one: has something been put on the wrong platform? */
void seq_watch_elsewhere(struct sequence *s, uint8_t scale, mass_pg gross, struct effects *fx);
void seq_by_weight(struct sequence *s, uint64_t now, struct effects *fx);
/* CONFIRM where this net could be accepted; FILL or OVER where not. */
enum phase seq_phase_of_net(const struct sequence *s, const struct item *it, mass_pg net);
/* early: a yes that waits */
#ifndef EARLY_YES /* 0: a small board, on which a yes counts only for what is settled at that moment */
#define EARLY_YES 1
#endif
/* The person's yes to the item's weight, be it asked for (CONFIRM) or not yet (FILL). */
void seq_yes_to_weight(struct sequence *s, uint64_t now, struct effects *fx);
/* After each reading: does it still wait? It is refused when the weight moved. */
void seq_yes_waits(struct sequence *s, const struct item *it, uint64_t now, struct effects *fx);
/* The weight is settled, at this net: true if a yes waited for it. It does so no more. */
bool seq_yes_is_due(struct sequence *s, mass_pg net, uint64_t now, bool disputed, struct effects *fx);
/* dip */
/* True: the current item was tared with a hand on its cup, and is to be tared anew. After each reading while it is filled. */
bool seq_dipped(struct sequence *s, const struct item *it, struct effects *fx);
void seq_forget_dip(struct scale_state *sc);
/* flow */
/* After a reading or a tick: what the hand at the item is told. */
void seq_steer(struct sequence *s, uint64_t now, struct effects *fx);
/* Nobody is told anything any more, nor was, but at this scale; NO_SCALE: at none. */
void seq_untell(struct sequence *s, uint8_t but);
/* Of the current item's scale, as flow_next. */
uint64_t seq_steer_next(const struct sequence *s, uint64_t now);
/* How a weight is accepted beside the person's yes; members may be NULL. */
struct acceptance {
    const char *reason;   /* why it may lie outside its band; the right was checked */
    const char *second;   /* the other person's code, for a critical ingredient */
    const char *next_lot; /* the rest comes from this lot */
};
/* Drafts the current item's weight as it is at this moment. What stands in the way of proposing it; REFUSED_COUNT: nothing. */
enum refusal_code seq_weigh(struct sequence *s, uint64_t now, const struct acceptance *how);

/* flow */
void seq_open(struct sequence *s, enum phase phase, struct effects *fx);
/* The same question again, by who is there now. */
void seq_reopen(struct sequence *s, struct effects *fx);
/* The platform that had to be cleared before an addition has died. */
bool seq_cleared_by_death(const struct sequence *s);
void seq_go_on(struct sequence *s, struct effects *fx);
void seq_sign_in(struct sequence *s, const struct person *who, struct effects *fx);
/* A platform that still carries an accepted container; NO_SCALE if none, or if its scale is dead anyway. */
uint8_t seq_loaded_scale(const struct sequence *s);
void seq_cleared(struct sequence *s, struct effects *fx);
/* A record about the current item, drafted in s->pending (no copy on the stack); seq_propose announces it. */
struct record *seq_draft(struct sequence *s, enum record_kind kind);
/* About another item. */
struct record *seq_draft_of(struct sequence *s, enum record_kind kind, const struct item *it);
void seq_propose(struct sequence *s, struct effects *fx);
uint16_t seq_answers(const struct sequence *s, enum phase phase);
void seq_answer(struct sequence *s, const struct event *ev, struct effects *fx);
/* A bare yes to the current item's weight, as it is now. */
void seq_accept(struct sequence *s, uint64_t now, struct effects *fx);
void seq_copy(char *to, const char *from, unsigned cap);
bool seq_same(const char *a, const char *b);

/* effects */
struct effect *seq_effect(struct effects *fx, enum effect_kind kind, unsigned code);
struct effect *seq_notice(struct effects *fx, enum notice_code code, uint8_t scale, uint16_t item);
void seq_refuse(struct effects *fx, const struct sequence *s, enum refusal_code code);

#endif
