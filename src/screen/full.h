/* Full screen: the layout's canvas onto the terminal, only where it differs from what stands there. */
#ifndef SCREEN_FULL_H
#define SCREEN_FULL_H

#include "screen/keys.h"

/* False with a sentence; the terminal is then as it was. */
bool full_open(int in, int out, char *why, size_t cap);
void full_close(void);
void full_draw(const struct view *v, const struct keys *k);
/* False: the window was too small to show anything but that, when it was drawn last. */
bool full_shows(void);

#endif
