/* Source: see source.h. A script lies in memory whole; live input comes in pieces and is never waited for. */
#include "plant/source.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

void source_script(struct source *s, const char *text, const char *name)
{
    memset(s, 0, sizeof *s);
    s->text = text;
    s->name = name;
    s->fd = -1;
}

void source_live(struct source *s, int fd)
{
    memset(s, 0, sizeof *s);
    s->fd = fd;
    s->ended = fd < 0;
}

bool source_wants(const struct source *s)
{
    return s->fd >= 0 && s->len < SOURCE_BUFFER;
}

void source_fill(struct source *s)
{
    ssize_t n = read(s->fd, s->buffer + s->len, SOURCE_BUFFER - s->len);
    if (n > 0) {
        s->len += (size_t)n;
        return;
    }
    if (n < 0 && (errno == EAGAIN || errno == EINTR))
        return;
    s->fd = -1;
    if (s->len && s->len < SOURCE_BUFFER) /* the last line may lack its end */
        s->buffer[s->len++] = '\n';
}

/* Copies n bytes as a line; true if it fitted. A NUL in it would hide what follows: taken as a blank. */
static bool copy_line(char line[VERB_LINE], const char *from, size_t n)
{
    bool fits = n < VERB_LINE;
    size_t keep = fits ? n : VERB_LINE - 1;
    for (size_t i = 0; i < keep; i++)
        line[i] = from[i] ? from[i] : ' ';
    line[keep] = 0;
    return fits;
}

static bool next_of_script(struct source *s, char line[VERB_LINE], bool *too_long)
{
    if (!*s->text) {
        s->ended = true;
        return false;
    }
    size_t n = strcspn(s->text, "\n");
    *too_long = !copy_line(line, s->text, n);
    s->text += n + (s->text[n] == '\n');
    s->line++;
    return true;
}

static bool next_of_live(struct source *s, char line[VERB_LINE], bool *too_long)
{
    char *end = memchr(s->buffer, '\n', s->len);
    if (!end) {
        s->ended = s->fd < 0;
        if (s->len == SOURCE_BUFFER) { /* a line without end: dropped as it comes, its end is answered as too long */
            s->skipping = true;
            s->len = 0;
        }
        return false;
    }
    size_t n = (size_t)(end - s->buffer);
    *too_long = !copy_line(line, s->buffer, n) || s->skipping;
    s->skipping = false;
    s->len -= n + 1;
    memmove(s->buffer, end + 1, s->len);
    s->line++;
    return true;
}

bool source_next(struct source *s, char line[VERB_LINE], bool *too_long)
{
    return s->text ? next_of_script(s, line, too_long) : next_of_live(s, line, too_long);
}
