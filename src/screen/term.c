/* Terminal. */
#include "screen/term.h"

#include <curses.h>
#include <langinfo.h>
#include <locale.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <term.h>
#include <termios.h>
#include <unistd.h>

#include "screen/text.h"

#define LOOK_BYTES 48
#define UNKNOWN (-1)
#define STEPS 6     /* so many bytes move the cursor more cheaply than an address */
#define SEQUENCE 32 /* a control sequence of ours is shorter */

static struct {
    bool open, utf8, shown;
    bool ansi_address, ansi_erase, ansi_steps; /* as ECMA-48 has them, like nearly everywhere */
    int in, out;
    struct termios before;
    struct sigaction winch_before;
    int row, col, look; /* of the cursor, as far as known */
    char looks[STYLE_COUNT][LOOK_BYTES];
    size_t look_len[STYLE_COUNT];
    uint8_t look_of[STYLE_COUNT]; /* styles that look alike share one */
    size_t len;
    char buf[16384];
} term;

static volatile sig_atomic_t resized;

static void on_resize(int signal_number)
{
    (void)signal_number;
    resized = 1;
}

static void send_bytes(const char *bytes, size_t n)
{
    while (n) {
        ssize_t done = write(term.out, bytes, n);
        if (done <= 0)
            return; /* the terminal is gone: the end of its input tells the station */
        bytes += done;
        n -= (size_t)done;
    }
}

void term_flush(void)
{
    send_bytes(term.buf, term.len);
    term.len = 0;
}

/* Where the next n bytes go; n is small against the buffer. */
static char *room_for(size_t n)
{
    if (term.len + n > sizeof term.buf)
        term_flush();
    return term.buf + term.len;
}

static void emit_bytes(const char *bytes, size_t n)
{
    if (n > sizeof term.buf)
        return;
    memcpy(room_for(n), bytes, n);
    term.len += n;
}

/* A terminfo string without its padding ("$<5>"): no terminal of today needs the pauses. */
static void emit(const char *string)
{
    while (string && *string) {
        size_t n = strcspn(string, "$");
        emit_bytes(string, n);
        string += n;
        if (!*string)
            return;
        const char *end = string[1] == '<' ? strchr(string, '>') : NULL;
        if (!end)
            emit_bytes(string, 1);
        string = end ? end + 1 : string + 1;
    }
}

/* The bytes that switch to a look, worked out once. */
static void make_look(enum style style, const char *mode, int fore, int back)
{
    size_t from = term.len;
    emit(exit_attribute_mode);
    emit(mode);
    if (fore >= 0)
        emit(tiparm(set_a_foreground, fore));
    if (back >= 0)
        emit(tiparm(set_a_background, back));
    size_t n = term.len - from;
    if (n < LOOK_BYTES)
        memcpy(term.looks[style], term.buf + from, term.look_len[style] = n);
    term.len = from;
    term.look_of[style] = (uint8_t)style;
}

static bool has_colour(void)
{
    const char *no = getenv("NO_COLOR");
    return !(no && no[0]) && set_a_foreground && set_a_background && max_colors >= 8;
}

/* Colours after IEC 60073: red danger, yellow abnormal, green normal, blue must act. Each is also said in words. */
static void make_looks(void)
{
    bool colour = has_colour();
    make_look(STYLE_PLAIN, NULL, -1, -1);
    make_look(STYLE_STRONG, enter_bold_mode, -1, -1);
    make_look(STYLE_HEAD, enter_reverse_mode, -1, -1);
    if (colour) {
        make_look(STYLE_GOOD, enter_bold_mode, COLOR_GREEN, -1);
        make_look(STYLE_ABNORMAL, enter_bold_mode, COLOR_YELLOW, -1);
        make_look(STYLE_DANGER, enter_bold_mode, COLOR_WHITE, COLOR_RED);
        make_look(STYLE_ACT, enter_bold_mode, COLOR_WHITE, COLOR_BLUE);
    } else {
        term.look_of[STYLE_GOOD] = term.look_of[STYLE_ABNORMAL] = STYLE_STRONG;
        term.look_of[STYLE_DANGER] = term.look_of[STYLE_ACT] = STYLE_HEAD;
    }
    term.look_of[STYLE_QUIET] = STYLE_PLAIN;
}

/* The user's locale, or C.UTF-8 where that has no UTF-8; without either, ASCII. */
static void choose_locale(void)
{
    setlocale(LC_CTYPE, "");
    if (strcmp(nl_langinfo(CODESET), "UTF-8") != 0)
        setlocale(LC_CTYPE, "C.UTF-8");
    term.utf8 = !strcmp(nl_langinfo(CODESET), "UTF-8");
}

static bool usable(char *why, size_t cap)
{
    struct winsize w;
    const char *kind = getenv("TERM");
    int known = 0;
    if (!isatty(term.in) || !isatty(term.out) || tcgetattr(term.in, &term.before) < 0) {
        snprintf(why, cap, "this is no terminal; use --plain or --json");
        return false;
    }
    if (ioctl(term.out, TIOCGWINSZ, &w) < 0 || !w.ws_row || !w.ws_col) {
        snprintf(why, cap, "the terminal does not tell its size; use --plain");
        return false;
    }
    if (w.ws_row < SCREEN_ROWS || w.ws_col < SCREEN_COLS) {
        snprintf(why, cap, "the terminal is %dx%d; make it at least %dx%d, or use --plain", w.ws_col, w.ws_row,
                 SCREEN_COLS, SCREEN_ROWS);
        return false;
    }
    if (!kind || !kind[0] || setupterm(kind, term.out, &known) == ERR || known != 1) {
        snprintf(why, cap, "the terminal kind \"%s\" (TERM) is not known here; use --plain", kind ? kind : "");
        return false;
    }
    if (!cursor_address || !clear_screen) {
        snprintf(why, cap, "the terminal kind \"%s\" (TERM) can't place text; use --plain", kind);
        del_curterm(cur_term);
        return false;
    }
    return true;
}

/* Each key at once and unseen; Ctrl-C still ends the session, but nothing freezes or suspends it, and a line feed only
 * moves down. */
static void take_modes(void)
{
    struct termios t = term.before;
    t.c_lflag &= ~(tcflag_t)(ICANON | ECHO | IEXTEN);
    t.c_iflag &= ~(tcflag_t)(IXON | IXOFF | ISTRIP);
    t.c_oflag &= ~(tcflag_t)OPOST;
    t.c_cc[VMIN] = 1;
    t.c_cc[VTIME] = 0;
    t.c_cc[VSUSP] = t.c_cc[VQUIT] = _POSIX_VDISABLE;
    tcsetattr(term.in, TCSADRAIN, &t);
}

bool term_open(int in, int out, char *why, size_t cap)
{
    memset(&term, 0, sizeof term);
    term.in = in;
    term.out = out;
    if (!usable(why, cap))
        return false;
    choose_locale();
    struct sigaction resize = {.sa_handler = on_resize}; /* no SA_RESTART: poll wakes up, and the station draws */
    sigaction(SIGWINCH, &resize, &term.winch_before);
    take_modes();
    make_looks();
    term.ansi_address = !strcmp(cursor_address, "\033[%i%p1%d;%p2%dH");
    term.ansi_steps = cursor_down && !strcmp(cursor_down, "\n") && cursor_left && !strcmp(cursor_left, "\b");
    term.ansi_erase = erase_chars && !strcmp(erase_chars, "\033[%p1%dX");
    emit(enter_ca_mode);
    emit(cursor_invisible);
    term.open = true;
    resized = 1;
    return true;
}

void term_close(void)
{
    if (!term.open)
        return;
    emit(exit_attribute_mode);
    emit(cursor_normal);
    if (exit_ca_mode)
        emit(exit_ca_mode);
    else
        term_clear();
    term_flush();
    tcsetattr(term.in, TCSADRAIN, &term.before);
    sigaction(SIGWINCH, &term.winch_before, NULL);
    del_curterm(cur_term);
    term.open = false;
}

bool term_is_open(void)
{
    return term.open;
}

bool term_size(int *rows, int *cols)
{
    struct winsize w;
    if (!resized)
        return false;
    resized = 0;
    if (ioctl(term.out, TIOCGWINSZ, &w) < 0)
        return false;
    *rows = w.ws_row ? w.ws_row : 1;
    *cols = w.ws_col ? w.ws_col : 1;
    return true;
}

void term_clear(void)
{
    emit(exit_attribute_mode);
    emit(clear_screen);
    term.row = term.col = 0;
    term.look = STYLE_PLAIN;
}

void term_cursor(bool shown)
{
    if (shown != term.shown)
        emit(shown ? cursor_normal : cursor_invisible);
    term.shown = shown;
}

/* Down by line feeds, left by backspaces: three bytes where an address takes eight. False: it would take more. */
static bool step_to(int row, int col)
{
    int down = row - term.row, left = term.col - col;
    if (term.row == UNKNOWN || !term.ansi_steps || down < 0 || left < 0 || down + left > STEPS)
        return false;
    char *p = room_for(STEPS);
    for (; down; down--)
        *p++ = '\n';
    for (; left; left--)
        *p++ = '\b';
    term.len = (size_t)(p - term.buf);
    return true;
}

static char *put_number(char *p, int n)
{
    if (n >= 10)
        p = put_number(p, n / 10);
    *p++ = (char)('0' + n % 10);
    return p;
}

/* tiparm interprets the string anew each time, which takes longer than all else about a movement. */
static void emit_address(int row, int col)
{
    if (!term.ansi_address) {
        emit(tiparm(cursor_address, row, col));
        return;
    }
    char *p = room_for(SEQUENCE);
    *p++ = '\033';
    *p++ = '[';
    p = put_number(p, row + 1);
    *p++ = ';';
    p = put_number(p, col + 1);
    *p++ = 'H';
    term.len = (size_t)(p - term.buf);
}

static void emit_erase(int n)
{
    if (!term.ansi_erase) {
        emit(tiparm(erase_chars, n));
        return;
    }
    char *p = room_for(SEQUENCE);
    *p++ = '\033';
    *p++ = '[';
    p = put_number(p, n);
    *p++ = 'X';
    term.len = (size_t)(p - term.buf);
}

void term_move(int row, int col)
{
    if (row != term.row || col != term.col)
        if (!step_to(row, col))
            emit_address(row, col);
    term.row = row;
    term.col = col;
}

/* What stands for our shapes where there is no UTF-8; letters of other alphabets can't be shown there. */
static uint32_t ascii(uint32_t ch)
{
    static const struct {
        uint32_t shape;
        char sign;
    } shapes[] = {{0x2588, '#'}, {0x25A0, '#'}, {0x2500, '-'}, {0x2504, '.'}, {0x253C, '+'}, {0x25BC, 'v'},
                  {0x25B2, '^'}, {0x25BA, '>'}, {0x25C4, '<'}, {0x25CF, '*'}, {0x25CB, 'o'}, {0x2026, '~'}};
    for (size_t i = 0; i < sizeof shapes / sizeof shapes[0]; i++)
        if (shapes[i].shape == ch)
            return (uint32_t)shapes[i].sign;
    return ch < 0x80 ? ch : '?';
}

static void use_look(int look)
{
    if (look == term.look)
        return;
    emit_bytes(term.looks[look], term.look_len[look]);
    term.look = look;
}

/* The right half of a wide character is no character; where that one became a sign, a blank. */
static size_t put_char(uint32_t ch, char *to)
{
    if (!term.utf8)
        ch = ch ? ascii(ch) : ' ';
    return ch ? utf8_put(ch, to) : 0;
}

void term_put(const struct cell *cells, int n, int cols)
{
    for (int i = 0; i < n; i++) {
        use_look(term.look_of[cells[i].style]);
        char *to = room_for(4);
        term.len += put_char(cells[i].ch, to);
    }
    term.col += n;
    if (term.col >= cols)
        term.row = UNKNOWN; /* terminals differ in what they do at the margin */
}

bool term_blank(const struct cell *cell)
{
    int look = term.look_of[cell->style];
    return cell->ch == ' ' && look != STYLE_HEAD && look != STYLE_ACT && look != STYLE_DANGER;
}

bool term_erase(int n)
{
    if ((!term.ansi_erase && !erase_chars) || term.look == STYLE_HEAD || term.look == STYLE_ACT ||
        term.look == STYLE_DANGER)
        return false;
    emit_erase(n);
    return true;
}

bool term_same_look(const struct cell *a, const struct cell *b)
{
    return term.look_of[a->style] == term.look_of[b->style];
}

bool term_ready(int row, int col, int *from)
{
    *from = term.col;
    return row == term.row && term.col <= col;
}
