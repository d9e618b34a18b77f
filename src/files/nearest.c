/* Edit distance with neighbouring swaps (optimal string alignment), three rows of a table. */
#include "files/nearest.h"

#include <string.h>

#define WORD 63

static unsigned least(unsigned a, unsigned b)
{
    return a < b ? a : b;
}

/* Three rows are enough: a swap looks back two letters and never further. */
unsigned word_distance(const char *a, const char *b)
{
    unsigned rows[3][WORD + 1];
    size_t na = strnlen(a, WORD);
    size_t nb = strnlen(b, WORD);
    unsigned *before = rows[0];
    unsigned *last = rows[1];
    unsigned *row = rows[2];
    for (size_t j = 0; j <= nb; j++)
        before[j] = last[j] = (unsigned)j;
    for (size_t i = 1; i <= na; i++) {
        row[0] = (unsigned)i;
        for (size_t j = 1; j <= nb; j++) {
            unsigned change = last[j - 1] + (a[i - 1] != b[j - 1]);
            row[j] = least(change, least(last[j], row[j - 1]) + 1);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1])
                row[j] = least(row[j], before[j - 2] + 1);
        }
        unsigned *spare = before;
        before = last;
        last = row;
        row = spare;
    }
    return last[nb];
}

/* A third of the letters wrong is still a slip; more is another word. All letters wrong never is. */
void nearest_offer(struct nearest *n, const char *wrong, const char *known)
{
    unsigned limit = (unsigned)strlen(wrong) / 3;
    unsigned d = word_distance(wrong, known);
    if (d > (limit < 2 ? 2 : limit) || d >= strlen(known))
        return;
    if (!n->word || d < n->distance) {
        n->word = known;
        n->distance = d;
    }
}
