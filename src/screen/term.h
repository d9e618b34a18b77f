/* Terminal: modes, size, colours and the shortest way to put cells on it.
 *
 * It stands on the terminfo half of ncurses. Its window half was tried: doupdate flushes at every cursor movement, so that
 * one changed weight took 15 to 25 calls of write(2) and four more around them; here it is one, with fewer bytes.
 * There is one terminal, so there is one of these in a process. */
#ifndef SCREEN_TERM_H
#define SCREEN_TERM_H

#include "screen/canvas.h"

/* False with a sentence; the terminal is then as it was. */
bool term_open(int in, int out, char *why, size_t cap);
/* Gives the terminal back as it was. */
void term_close(void);
bool term_is_open(void);
/* The size by now; true if it may have changed since the last call. Never smaller than 1 x 1. */
bool term_size(int *rows, int *cols);

/* These only collect bytes; term_flush sends them. */
void term_clear(void);
void term_move(int row, int col);
/* n cells of a row of so many columns, from the cursor on; no wide character is halved. */
void term_put(const struct cell *cells, int n, int cols);
void term_cursor(bool shown);
void term_flush(void);

/* Makes n cells from the cursor on blank, which stays where it is. False: this terminal can't. */
bool term_erase(int n);

/* True for a blank that is no more than that: of no background. */
bool term_blank(const struct cell *cell);
/* Two styles of the same look need no switching. */
bool term_same_look(const struct cell *a, const struct cell *b);
/* True if the cursor stands in this row, at or before this column; *from: its column. */
bool term_ready(int row, int col, int *from);

#endif
