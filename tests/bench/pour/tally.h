/* Tally: what many weighings come to. The outcomes are kept in the order of their seeds, so it does not depend on threads. */
#ifndef TESTS_POUR_TALLY_H
#define TESTS_POUR_TALLY_H

#include <stddef.h>

#include "tests/bench/pour/world.h"

/* One weighing, with and without the cue. */
struct pair {
    struct outcome cued, plain;
};

struct count {
    size_t n, of;
};
/* 95 % bounds of a share: Wilson's score interval (E. B. Wilson, J. Am. Stat. Assoc. 22, 1927; the formula from memory). */
void wilson(struct count c, double *low, double *high);

typedef bool (*chooses)(const struct pair *p, unsigned value);

struct tally {
    size_t weighings;
    size_t false_accepts[RULES], false_tares, not_accepted[RULES], never, oracle, disputed;
    size_t accepted[RULES];
    double median_s[RULES], p95_s[RULES]; /* of those chosen with ten lines a second; INFINITY where so many never */
    size_t delays;
    double yes_median_s, yes_p95_s;
    size_t taken_back;
    size_t overweigh_plain, overweigh_cued, laden_plain, laden_cued, missed, hidden, caught, cues, needless, streams;
    double fill_cued_s, fill_plain_s; /* medians over the streams */
};
/* Of those that `choose` takes. tenth: delays of scales with ten lines a second only. */
void tally_of(const struct pair *pairs, size_t n, chooses choose, unsigned value, bool tenth, struct tally *out);
double quantile(double *values, size_t n, double q);

#endif
