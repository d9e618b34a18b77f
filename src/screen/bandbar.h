/* Band bar: the band drawn to scale with a pointer at the net. Coarse far away, fine near the target, and it says so. */
#ifndef SCREEN_BANDBAR_H
#define SCREEN_BANDBAR_H

#include "core/mass.h"
#include "screen/canvas.h"

#define BANDBAR_ROWS 3 /* pointer, bar, masses */

struct bandbar {
    mass_pg low, high, net, division; /* low <= high, division > 0 */
    bool has_net;
    uint8_t unit, places; /* to show masses in */
};

/* Where a mass stands on a bar of `cols` columns; clamped to its ends. */
int bandbar_column(const struct bandbar *b, int cols, mass_pg mass);
/* The pointer's: as above, but never on the band for a net outside it. */
int bandbar_pointer(const struct bandbar *b, int cols);
void bandbar_put_pointer(struct canvas *c, int row, int col, int cols, const struct bandbar *b);
/* The bar and its masses, without the pointer. */
void bandbar_put(struct canvas *c, int row, int col, int cols, const struct bandbar *b);

#endif
