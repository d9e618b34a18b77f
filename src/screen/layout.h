/* Layout: the whole view on a canvas. Pure, so that screens are tested as text. */
#ifndef SCREEN_LAYOUT_H
#define SCREEN_LAYOUT_H

#include "screen/canvas.h"
#include "screen/keys.h"
#include "screen/view.h"

/* Draws everything for a terminal of this size; below 80x24 only the request for a larger one. */
void layout_draw(struct canvas *c, const struct view *v, const struct keys *k, int rows, int cols);

/* Parts (docket.c, choices.c): each fills its area and says nothing outside it. */
void docket_put(struct canvas *c, const struct area *a, const struct view *v);
void scales_put(struct canvas *c, const struct area *a, const struct view *v);
void choices_put(struct canvas *c, const struct area *a, const struct view *v);
/* "● settled", "○ moving", "! silent" ...: a scale's condition in shape and word. */
const char *condition_text(const struct view_scale *s, enum style *style);
/* The part for the big figure, bin, status and band (weighpage.c). Returns the rows taken. */
int weighpage_put(struct canvas *c, const struct area *a, const struct view *v, const struct keys *k);
/* True if the step is about a weight: the figure and the band are shown instead of the question and its choices. */
bool weighpage_fits(const struct view *v);
/* The bin number as large as the rows allow, at the right edge; returns the columns it takes. */
int bin_put(struct canvas *c, const struct area *a, const struct view *v);

#endif
