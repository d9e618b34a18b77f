/* Screen: the three faces behind one door. */
#include "screen/screen.h"

#include <errno.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "screen/full.h"
#include "screen/keys.h"
#include "screen/lines.h"
#include "screen/text.h"

#define SAY_MAX 8192
#define READS_MAX 64        /* 16 KiB in one wake-up, then the scales have their turn */
#define READER_WAIT_MS 2000 /* a reader that takes nothing for so long is gone */

bool screen_open(struct screen *s, enum screen_kind kind, int in, int out, char *why, size_t cap)
{
    memset(s, 0, sizeof *s);
    s->kind = (uint8_t)kind;
    s->in = in;
    s->out = out;
    keys_init(&s->keys);
    if (cap)
        why[0] = 0;
    if (kind == SCREEN_FULL)
        return full_open(in, out, why, cap);
    signal(SIGPIPE, SIG_IGN); /* a reader that is gone is an answer of write(2), not the end of the batch */
    return true;
}

void screen_close(struct screen *s)
{
    if (s->kind != SCREEN_FULL)
        return;
    full_close();
    if (s->farewell[0])
        dprintf(s->out, "%s\n", s->farewell);
    s->farewell[0] = 0;
}

/* When the full screen has gone, the terminal shows what stood there before: one line tells how the batch stands. The end
 * itself only where nothing else was said. */
static void keep_farewell(struct screen *s, const struct say *what)
{
    struct text t;
    if (what->kind != SAY_STATE && (what->kind != SAY_END || s->farewell[0]))
        return;
    text_begin(&t, s->farewell, sizeof s->farewell);
    if (what->batch && what->batch[0]) {
        text_clean(&t, what->batch);
        text_put(&t, ": ");
    }
    say_sentence(what, t.buf + t.len, t.cap - t.len);
}

/* One write(2) as a rule: a line is never torn by another writer, and a reader wakes up once. */
static bool write_all(int fd, const char *bytes, size_t n)
{
    while (n) {
        ssize_t done = write(fd, bytes, n);
        if (done > 0) {
            bytes += done;
            n -= (size_t)done;
        } else if (done < 0 && errno == EAGAIN) {
            struct pollfd p = {.fd = fd, .events = POLLOUT};
            if (poll(&p, 1, READER_WAIT_MS) <= 0)
                return false;
        } else if (done == 0 || errno != EINTR) {
            return false;
        }
    }
    return true;
}

bool screen_say(struct screen *s, const struct say *what)
{
    char buf[SAY_MAX];
    size_t n = 0;
    if (s->kind == SCREEN_JSON) {
        n = say_json(what, buf, sizeof buf - 1);
        if (n)
            buf[n++] = '\n';
    } else if (s->kind == SCREEN_PLAIN) {
        n = say_plain(what, buf, sizeof buf);
    } else {
        keep_farewell(s, what);
    }
    return write_all(s->out, buf, n);
}

void screen_sound(struct screen *s, enum sound sound)
{
    if (s->kind == SCREEN_FULL && sound != SOUND_ACCEPTED)
        (void)write_all(s->out, "\a\a", sound == SOUND_STOP ? 2 : 1);
}

/* Reads what is there, without ever waiting: the descriptor may be shared with others, so it stays a blocking one. Lines
 * are read once in a wake-up: what a client writes after it saw a prompt is never read in the wake-up that opened it. */
static bool refill(struct screen *s)
{
    struct pollfd p = {.fd = s->in, .events = POLLIN};
    int most = s->kind == SCREEN_FULL ? READS_MAX : 1;
    if (s->ended || s->reads >= most || poll(&p, 1, 0) <= 0)
        return false;
    ssize_t n = read(s->in, s->input, sizeof s->input);
    if (n < 0 && (errno == EINTR || errno == EAGAIN))
        return false;
    s->reads++;
    s->taken = 0;
    s->filled = n > 0 ? (uint16_t)n : 0;
    s->ended = n <= 0;
    return n > 0;
}

/* What was pressed before the prompt came on the screen was not meant for it. */
static void new_prompt(struct screen *s, const struct view *v)
{
    bool pressed = s->taken < s->filled;
    while (refill(s))
        pressed = true;
    s->taken = s->filled;
    s->reads = 0;
    keys_prompt(&s->keys, v->prompt_n, v->at);
    if (pressed)
        keys_drop(&s->keys, v->at);
}

void screen_draw(struct screen *s, const struct view *v)
{
    if (s->kind != SCREEN_FULL)
        return;
    if (v->prompt_n != s->keys.prompt)
        new_prompt(s, v);
    keys_waits(&s->keys, v->waits);
    full_draw(v, &s->keys);
    keys_sight(&s->keys, full_shows(), v->at);
}

static bool take_byte(struct screen *s, const struct view *v, uint64_t now, char byte, char line[ANSWER_LINE])
{
    uint32_t key;
    if (s->kind == SCREEN_FULL)
        return keys_byte(&s->keys, (uint8_t)byte, now, &key) && keys_press(&s->keys, v, key, now, line);
    if (!lines_byte(s, byte, line))
        return false;
    if (s->kind == SCREEN_PLAIN)
        lines_ease(v, line);
    return true;
}

/* A held key is judged only when no byte is left: the second character of a scan may be among them. */
bool screen_answer(struct screen *s, const struct view *v, uint64_t now, char line[ANSWER_LINE], bool *ended)
{
    *ended = false;
    do
        while (s->taken < s->filled)
            if (take_byte(s, v, now, s->input[s->taken++], line))
                return true;
    while (refill(s));
    s->reads = 0;
    if (s->kind == SCREEN_FULL && keys_idle(&s->keys, v, now, line))
        return true;
    *ended = s->ended;
    return false;
}

uint64_t screen_wake(const struct screen *s)
{
    return s->kind == SCREEN_FULL ? keys_wake(&s->keys) : 0;
}
