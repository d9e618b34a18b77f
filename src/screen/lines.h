/* Lines: answer lines out of bytes (plain, json). */
#ifndef SCREEN_LINES_H
#define SCREEN_LINES_H

#include "screen/screen.h"

/* One byte of input; true: `line` holds a whole answer line, without its end (LF or CR LF). Blank lines are passed over.
 * A line of ANSWER_LINE or more bytes, or one that is not UTF-8, comes as one that answer_parse refuses. */
bool lines_byte(struct screen *s, char byte, char line[ANSWER_LINE]);
/* Plain mode only: a bare digit becomes the choice that it picks; where a code, a lot or a number is asked a bare text
 * becomes that. Everything else stays as it is. */
void lines_ease(const struct view *v, char line[ANSWER_LINE]);

#endif
