/* Shared by flow.c and flow_line.c only: not for use elsewhere. */
#ifndef CORE_FLOW_LINE_H
#define CORE_FLOW_LINE_H

#include "core/flow.h"

#define FLOW_HABIT_SLOTS (FLOW_BINS / 4)
#define FLOW_SAME 1000 /* thousandths */
#define FLOW_SLOT_US 60000u

struct flow_line {
    mass_pg now, slope, error; /* mass at the newest reading; per second; its standard error */
    mass_pg least;             /* the error if it is straight */
    mass_pg rise, fall;        /* the fastest between two neighbours, per second */
};

/* The variance of one slot beside that of rounding, in squares of a 16th of a division. */
int64_t flow_noise(const struct flow *f, const struct flow_rule *rule);
/* The longest line whose flow agrees with that of every shorter one (their confidence intervals meet): so a steady flow is
 * measured well, and one that has just changed, soon. False: none can be told. */
bool flow_line(const struct flow *f, const struct flow_rule *rule, int64_t noise, struct flow_line *line);
/* A hand that eases off goes on easing off: what part of its flow is left from one quarter of the slots to the next, in
 * thousandths. Where it is surely less, the line becomes that of the newest quarter. */
int64_t flow_habit(const struct flow *f, const struct flow_rule *rule, struct flow_line *line);

static inline uint64_t flow_or(uint32_t value, uint32_t usual)
{
    return value ? value : usual;
}

static inline uint64_t flow_period_us(const struct flow_rule *rule)
{
    return flow_or(rule->period_us, 100000);
}

/* No shorter than most of a period, or a slow scale would not fill three of them. */
static inline uint64_t flow_slot_us(const struct flow_rule *rule)
{
    uint64_t most = flow_period_us(rule) * 3 / 5;

    return most > FLOW_SLOT_US ? most : FLOW_SLOT_US;
}

/* A quarter of a mass's reach: sums and differences of two can't overflow. */
static inline bool flow_within(mass_pg mass)
{
    return mass >= -(INT64_MAX / 4) && mass <= INT64_MAX / 4;
}

#endif
