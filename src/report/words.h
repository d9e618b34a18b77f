/* Words: figures and events of a batch record as people read them. */
#ifndef REPORT_WORDS_H
#define REPORT_WORDS_H

#include "report/batch.h"

#define WORDS_MAX 1024

/* The unit and decimals in which figures that belong together are shown: the scale's own division where it is known, else
 * the fewest that show them exactly. */
struct look {
    uint8_t unit, places;
};
struct look look_of(const struct batch_report *b, const char *scale, const mass_pg *figures, unsigned count);
/* "12.345 kg"; with a sign also when it is positive, for differences; none where the figure is nothing. */
const char *look_mass(struct look look, mass_pg mass, char buf[MASS_TEXT_MAX]);
const char *look_difference(struct look look, mass_pg mass, char buf[MASS_TEXT_MAX]);
/* Thousandths: "4.4 C", "-2 C". */
const char *words_check(int32_t milli, const char *unit, char buf[MASS_TEXT_MAX]);

/* "TH (Tam Harrowgill)", or the code alone. */
const char *words_person(const struct batch_report *b, const char *code, char buf[CAP_NAME + CAP_PERSON + 4]);
/* What happened, as a sentence in the past. */
const char *words_event(const struct batch_report *b, const struct batch_event *ev, char buf[WORDS_MAX]);

#endif
