/* Canvas: a picture of the terminal as plain cells. The layout draws on it without knowing curses; the full screen sends
 * what changed to the terminal; the tests read it as text. */
#ifndef SCREEN_CANVAS_H
#define SCREEN_CANVAS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define CANVAS_ROWS 100 /* a larger terminal is used up to here */
#define CANVAS_COLS 300
#define SCREEN_ROWS 24 /* the smallest terminal */
#define SCREEN_COLS 80

/* What a cell means; full.c has the colours (IEC 60073: red danger, yellow abnormal, green normal, blue must act). */
enum style {
    STYLE_PLAIN,
    STYLE_QUIET, /* of less weight */
    STYLE_STRONG,
    STYLE_HEAD, /* the bar at the top */
    STYLE_GOOD,
    STYLE_ABNORMAL,
    STYLE_DANGER,
    STYLE_ACT,
    STYLE_COUNT
};

struct cell {
    uint32_t ch : 24; /* Unicode; 0: the right half of the wide character before it */
    uint32_t style : 8;
};

struct canvas {
    int rows, cols;
    int cursor_row, cursor_col; /* where text is typed; -1: nowhere */
    struct cell
        cells[CANVAS_ROWS * CANVAS_COLS]; /* row by row, without gaps: a small terminal takes little of the cache */
};

static inline struct cell *canvas_at(struct canvas *c, int row, int col)
{
    return &c->cells[row * c->cols + col];
}

struct area {
    int row, col, rows, cols;
};

/* Blank, of this size (cut to what a canvas holds). */
void canvas_clear(struct canvas *c, int rows, int cols);
/* The area blank again. */
void canvas_blank(struct canvas *c, const struct area *a);
/* Text at a place, at most `width` columns, cut with an ellipsis; controls never get onto the canvas. Returns the columns
 * taken. Outside the canvas nothing is drawn. */
int canvas_put(struct canvas *c, int row, int col, int width, enum style style, const char *text);
/* The same, ending at col + width. */
void canvas_put_right(struct canvas *c, int row, int col, int width, enum style style, const char *text);
/* Text over several rows of the area, broken at blanks. Returns the rows taken. c may be NULL: only counts. */
int canvas_wrap(struct canvas *c, const struct area *a, enum style style, const char *text);
/* `width` times one character. */
void canvas_fill(struct canvas *c, int row, int col, int width, enum style style, uint32_t ch);
/* Columns that a text takes. */
int text_columns(const char *text);
/* Row r as UTF-8, without the blanks at its end, into buf. */
size_t canvas_row(const struct canvas *c, int row, char *buf, size_t cap);

#endif
