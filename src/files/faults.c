/* Faults: collected in one bounded text, in order of file and line. */
#include "files/faults.h"

#include <limits.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include "core/character.h"

#define FAULT_LINE 1200 /* longest line, above a path and a value together; the rest of one is cut */
#define FAULT_TAIL 48   /* kept free for "... and N more" */

/* The line number of a fault that stands at `at`, if it is of this file; the last for one of the whole file, which stands
 * at its end; -1 for one of another file. */
static long fault_line(const char *at, const char *file)
{
    size_t n = strlen(file);
    if (strncmp(at, file, n) != 0 || at[n] != ':')
        return -1;
    return at[n + 1] == ' ' ? LONG_MAX : strtol(at + n + 1, NULL, 10);
}

/* Where a fault of this file and line belongs: before the first of the same file with a greater number. */
static size_t fault_place(const struct faults *f, const char *file, unsigned line)
{
    if (line == 0)
        return f->len;
    for (const char *at = f->text; at < f->text + f->len; at = strchr(at, '\n') + 1) {
        if (fault_line(at, file) > (long)line)
            return (size_t)(at - f->text);
    }
    return f->len;
}

/* Replaces the last line, if it says how many were left out, by one that says one more. */
static void leave_out(struct faults *f)
{
    f->left_out++;
    snprintf(f->text + f->len, FAULT_TAIL, "... and %u more\n", f->left_out);
}

/* File names and values are quoted in faults: an escape sequence in one must not reach the terminal, nor a line end forge
 * a second fault. */
static void tidy(char *line, size_t n)
{
    for (size_t i = 0, len; i < n; i += len) {
        len = character_len(line + i, n - i);
        bool good = len && !character_unsafe(character_code(line + i, len));
        len = len ? len : 1;
        if (!good)
            memset(line + i, '?', len);
    }
}

void faults_add(struct faults *f, const char *file, unsigned line, const char *format, ...)
{
    char text[FAULT_LINE + 1];
    int head = line ? snprintf(text, sizeof text, "%s:%u: ", file, line) : snprintf(text, sizeof text, "%s: ", file);
    if (head < 0 || head >= FAULT_LINE)
        head = 0;
    va_list args;
    va_start(args, format);
    (void)vsnprintf(text + head, sizeof text - (size_t)head, format, args);
    va_end(args);
    size_t n = strlen(text);
    if (n == FAULT_LINE)
        n--;
    tidy(text, n);
    text[n++] = '\n';

    f->count++;
    if (f->left_out || f->len + n + FAULT_TAIL > FAULTS_TEXT) {
        leave_out(f);
        return;
    }
    size_t place = fault_place(f, file, line);
    memmove(f->text + place + n, f->text + place, f->len - place);
    memcpy(f->text + place, text, n);
    f->len += n;
    f->text[f->len] = '\0';
}

void faults_print(const struct faults *f, FILE *to)
{
    fputs(f->text, to);
}
