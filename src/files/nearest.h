/* Nearest: the known word that somebody may have meant. */
#ifndef FILES_NEAREST_H
#define FILES_NEAREST_H

#include <stddef.h>

/* Slips between two words of at most 63 bytes: letters put in, left out, changed, or two neighbours swapped. */
unsigned word_distance(const char *a, const char *b);
/* Keeps the nearest of several words: start with a zeroed struct, offer each. */
struct nearest {
    const char *word; /* NULL: nothing is near enough to be meant (a third of the letters, at least two) */
    unsigned distance;
};
void nearest_offer(struct nearest *n, const char *wrong, const char *known);

#endif
