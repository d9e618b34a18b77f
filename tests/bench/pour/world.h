/* World: one weighing as it happens. The simulated platform and person on one side, the real core (sequence, settle, flow) on
 * the other, and what a judge who knows the truth says of every acceptance. Stepped by the millisecond, no clock, no I/O. */
#ifndef TESTS_POUR_WORLD_H
#define TESTS_POUR_WORLD_H

#include "core/sequence.h"
#include "tests/bench/pour/case.h"

/* How a settled weight is told. EQUAL and MARK are the naive rules beside ours. */
enum pour_rule {
    RULE_OURS,
    RULE_EQUAL, /* EQUAL_READINGS equal readings in a row */
    RULE_MARK,  /* the scale's own mark says stable */
    RULES
};
#define EQUAL_READINGS 5

#define HISTORY_MS 512
#define HEARD_MAX 4096 /* readings of one weighing: 50 a second for 80 s */

/* What the judge found when a weight was accepted. */
struct verdict_of {
    bool accepted, wrong;
    double at_s;
    double error_d; /* accepted minus what counts as mass, in divisions: 0 if inside what it was in the last 0.4 s */
    double rate_d_s;
    double error_mass_d; /* accepted minus the true mass alone */
};

struct outcome {
    uint64_t seed;
    uint8_t class, mark;
    bool tenth, stream;
    struct verdict_of tare, net[RULES]; /* tare: of RULE_OURS */
    bool disputed;
    bool oracle_accepts;
    double oracle_s;
    double delay_s[RULES]; /* of the net; INFINITY: never. Where the oracle accepts */
    double yes_delay_s;    /* of the yes that stood, as delay_s */
    unsigned taken_back;   /* so often was a yes that waited refused */
    bool over;   /* what counts as mass was above the band by more than half a division: a hand on the pan too */
    bool laden;  /* so was what is really in the container */
    bool missed; /* and was accepted as inside it, two divisions or more above */
    bool hidden; /* the same for the true mass alone, by what counts as mass: a hand was on the pan at the tare */
    bool caught; /* the station found its tare wrong and wants the container lifted off: the weighing ends */
    bool cue, needless;
    double fill_s; /* from the hand's first move until accepted */
    double end_s;
};

struct heard {
    double at_s, mass_d, truth_d; /* in divisions; truth: what counts as mass */
    bool in_band;
};

/* CLEARS, STANDS_BY, RETURNS: all is taken off because the station asks for it, and what it then asks is done. */
enum person_doing {
    PERSON_WAITS,
    PERSON_SETS,
    PERSON_FILLS,
    PERSON_LIFTS,
    PERSON_AWAY,
    PERSON_BACK,
    PERSON_CLEARS,
    PERSON_STANDS_BY,
    PERSON_RETURNS
};

struct person_model {
    uint8_t doing; /* enum person_doing */
    struct hand hand;
    struct random bin; /* how well it fills there */
    double since_s, flow_g_s, valve_g_s, carried_pg;
    bool asked, begun, scooped;
    uint32_t seen; /* the prompt that it reacts to */
    double seen_s; /* since when */
    mass_pg held;  /* what it has taken off */
    mass_pg ramp_from, ramp_by;
    double ramp_from_s, ramp_for_s;
    double acted_s; /* when it last began to change the load after not doing so */
    bool acts;
    bool obeyed; /* what came of its first stop for a cue is known */
};

/* What is the same in all weighings of a run. */
struct manner_of {
    bool oracle; /* the cue is the oracle's */
    bool deaf;   /* the person does not heed the cue */
    bool
        reacts; /* and says yes with free hands and after its reaction; else at the first moment at which it is taken */
    bool asked; /* and only once it is asked for it */
    uint32_t quick_us; /* of the settling rule; 0: its default */
};

struct world {
    struct pour_case c;
    bool cued; /* the station gives its cue, and the person is shown it */
    struct manner_of how;
    void (*trace)(const struct world *w, const struct reading *r, const char *what);

    struct platform platform;
    struct indicator indicator;
    struct frames frames;
    struct air air;
    struct disturb disturb;
    struct person_model person;
    uint64_t now_ms;
    double now_s;

    /* the truth of the last half second */
    mass_pg moved[HISTORY_MS]; /* by hand, each millisecond */
    double counts_d[HISTORY_MS / 16];

    /* the station */
    struct formula *formula;
    struct setup setup;
    struct scale_setup scale;
    struct limit limits[2];
    struct sequence s;
    struct item items[CAP_ITEMS];
    uint16_t order[CAP_ITEMS];
    uint64_t tick_us;
    uint8_t cue;
    double cue_from_s; /* below 0: not yet */
    bool oracle_said;
    mass_pg oracle_was; /* where the net landed a look ago; 0 = not known */
    bool zero_asked;    /* the screen tells of the scale's own zero key */
    bool tared, done;
    double yes_s;      /* the newest yes */
    double offered_s;  /* since when one would be taken; below 0: it would not */
    double begun_s;    /* the hand's first move */
    mass_pg low, high; /* of the band, once asked for */

    /* naive rules */
    mass_pg last_mass;
    unsigned equal;

    struct heard heard[HEARD_MAX];
    unsigned heard_count;
    mass_pg tare_load; /* and what counted as mass when the tare was taken */
    double tare_counts_d;
    mass_pg end_load;  /* the true mass when the net was accepted */
    double peak_net_d; /* the highest net */
    mass_pg peak_in;   /* the most that was really in the container */
    struct outcome out;
};

/* The whole weighing of this seed. `w` is large: one for each thread, not on a stack. */
void world_run(struct world *w, uint64_t seed, bool cued);

/* person.c: what the person does in this millisecond. */
void person_begin(struct world *w);
void person_step(struct world *w);
/* What leaves the hand in this millisecond; below 0: taken out. Pieces and spoons have no valve. */
mass_pg person_flows(struct person_model *p, const struct pour_case *c);
/* True in the first moments of an action of the person's own: nobody says yes while beginning to pour. */
bool person_is_beginning(const struct world *w);

/* station.c: the core. */
bool station_begin(struct world *w);
void station_reading(struct world *w, const struct reading *r);
void station_tick(struct world *w);
void station_yes(struct world *w);
/* Says yes to the weight, as soon as this person does that. */
void station_offers(struct world *w);

/* oracle.c */
/* The load in the end if "stop" is shown now. */
mass_pg oracle_lands(const struct world *w);
uint8_t oracle_cue(struct world *w);

/* judge.c */
double judge_net_d(const struct world *w);
/* Accepted now, the net is two divisions or more above its band. */
bool judge_missed(const struct world *w);
void judge_tare(struct world *w, mass_pg tare);
void judge_step(struct world *w, mass_pg by_hand);
struct verdict_of judge_weight(const struct world *w, mass_pg gross);
void judge_reading(struct world *w, const struct reading *r);
void judge_end(struct world *w);

#endif
