/* Heard: one plain line of the station, as far as the operator needs it. */
#ifndef DEMO_HEARD_H
#define DEMO_HEARD_H

#include <stdbool.h>

enum heard_kind { HEARD_OTHER, HEARD_PROMPT, HEARD_RECORDED, HEARD_REFUSED };

struct heard {
    enum heard_kind kind;
    unsigned n, item, bin; /* 0 where the line has none */
    char ask[16];
    char scale[32];
    char answers[160]; /* after "type: "; "" = the scale answers */
    bool has_band;
    double low_g, high_g;
};

void heard_read(const char *line, struct heard *out);
/* True if the prompt takes this answer, word and value as they are listed. */
bool heard_takes(const struct heard *h, const char *answer);

#endif
