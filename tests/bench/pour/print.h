/* Print: tables, the JSON object, and the trace of one weighing. */
#ifndef TESTS_POUR_PRINT_H
#define TESTS_POUR_PRINT_H

#include "tests/bench/pour/tally.h"

void print_tables(const struct pair *pairs, size_t n, uint64_t seed);
void print_json(const struct pair *pairs, size_t n);
void print_parameters(void);
void print_trace(const struct world *w, const struct reading *r, const char *what);
void print_outcome(const struct outcome *o, const struct pour_case *c);
/* plot.c: weighing.svg, delays.svg and window.svg into the folder, from n weighings of the seed. False with a sentence. */
bool plot_all(const char *folder, struct world *w, uint64_t first, size_t n);
/* The hard goals: nothing accepted that is false, nothing left that the oracle accepts, no over-weigh missed. */
bool is_good(const struct pair *pairs, size_t n);

#endif
