/* Act: the pretend scale's state, and how its verbs are carried out and answered. */
#ifndef PLANT_ACT_H
#define PLANT_ACT_H

#include "plant/plant.h"
#include "plant/source.h"
#include "plant/wire.h"

struct pretend {
    const struct profile *profile;
    struct plant plant;
    struct wire wire;
    struct source script, live;
    struct random random; /* of the garbage */
    uint64_t begun_us, now_us;
    uint64_t line_due_us;     /* UINT64_MAX: no line is asked for */
    uint64_t silent_until_us; /* 0 = speaks */
    uint64_t fault_until_us;  /* 0 = is well */
    uint64_t retry_us;        /* UINT64_MAX: the wire needs no second try */
    int signals;
    bool ends, quit;
    uint8_t figures; /* enum mass_unit of its figures where the lines say another; UNIT_NONE: they say the right one */
    uint8_t heard_len;
    char heard[PROFILE_COMMAND]; /* the newest bytes from the reader */
};

/* Carries out the verbs that are there and not behind a wait; answers each on standard output with one line, "ok" or
 * "error: ...". A script's own answers are kept to itself, but for `show` and errors (standard error, with its line). */
void act_on_verbs(struct pretend *s);
/* The next moment at which a wait may be over; UINT64_MAX = none. */
uint64_t act_wake(const struct pretend *s);

#endif
