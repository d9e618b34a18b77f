/* Big digits: figures of strokes, as large as there is room for, to be read from across the room. */
#ifndef SCREEN_BIGDIGITS_H
#define SCREEN_BIGDIGITS_H

#include "screen/canvas.h"

/* The strokes of one digit: its outer size, how thick they are, and the gap to the next digit. */
struct digit_size {
    int rows, cols, thick_rows, thick_cols, gap;
};

/* The largest digits of which `figures` of them and one decimal sign fit into the room; rows 0: not even the smallest. */
struct digit_size bigdigits_size(int figures, int rows, int cols);
/* Columns that a figure takes ("-12.45"; any other character is a blank digit). */
int bigdigits_columns(const struct digit_size *size, const char *figure);
/* True if the second figure stands where the first one did, digit under digit. */
bool bigdigits_alike(const char *before, const char *now);
/* Drawn so that it ends at column `right` (not included), from row `row` down. */
void bigdigits_put(struct canvas *c, int row, int right, const struct digit_size *size, enum style style,
                   const char *figure);
/* The same where `before` stands now, in the same style and alike: draws only the digits that differ. The columns that they
 * take are *from up to *to (not included). */
void bigdigits_change(struct canvas *c, int row, int right, const struct digit_size *size, enum style style,
                      const char *before, const char *figure, int *from, int *to);

#endif
