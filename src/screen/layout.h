/* Layout: the whole view on a canvas. Pure, so that screens are tested as text. */
#ifndef SCREEN_LAYOUT_H
#define SCREEN_LAYOUT_H

#include "screen/canvas.h"
#include "screen/keys.h"
#include "screen/view.h"

#define FIGURE_UNIT 8 /* bytes of a unit's name */

/* The big figure. As it was drawn last it is kept: the next one differs in a digit or two. */
struct figure {
    char text[MASS_TEXT_MAX], unit[FIGURE_UNIT];
    enum style style;
};

/* Where things are that move with the weights, as layout_draw put them. */
struct layout {
    bool whole; /* nothing can be moved: all must be drawn */
    bool weigh; /* the page is a weigh page */
    struct area page, scales;
    int page_taken; /* rows */
    struct figure figure;
    struct area digits, below; /* what layout_move has drawn anew: of the figure, and of what judges it */
};

/* Draws everything for a terminal of this size; below 80x24 only the request for a larger one. */
void layout_draw(struct canvas *c, struct layout *l, const struct view *v, const struct keys *k, int rows, int cols);
/* Draw only what moves with the weights: the picture is then the same as layout_draw would make of this view, if it differs
 * from the one drawn before in nothing else (layout_still). First the page: the figure and all that judges it; false: draw
 * everything. Then the scales. */
bool layout_move(struct canvas *c, struct layout *l, const struct view *v, const struct keys *k);
void layout_move_scales(struct canvas *c, const struct layout *l, const struct view *v);
/* A figure that changes with everything that does not move with the weights. */
uint64_t layout_still(const struct view *v, const struct keys *k);

/* Parts (docket.c, choices.c): each fills its area and says nothing outside it. */
void docket_put(struct canvas *c, const struct area *a, const struct view *v);
int adds_put(struct canvas *c, const struct area *a,
             const struct view *v); /* what goes in now; the rows that it took */
void scales_put(struct canvas *c, const struct area *a, const struct view *v);
void choices_put(struct canvas *c, const struct area *a, const struct view *v);
/* "● settled", "○ moving", "! silent" ...: a scale's condition in shape and word. */
const char *condition_text(const struct view *v, const struct view_scale *s, enum style *style);
/* The part for the big figure, bin, status and band (weighpage.c), in l->page. Returns the rows taken. */
int weighpage_put(struct canvas *c, struct layout *l, const struct view *v, const struct keys *k);
/* Only what moves: in l->digits and l->below. False: something else would have to move too. */
bool weighpage_move(struct canvas *c, struct layout *l, const struct view *v, const struct keys *k);
/* True if the step is about a weight: the figure and the band are shown instead of the question and its choices. */
bool weighpage_fits(const struct view *v);
/* The bin number as large as the rows allow, at the right edge; returns the columns it takes. */
int bin_put(struct canvas *c, const struct area *a, const struct view *v);

#endif
