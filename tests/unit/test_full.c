/* The full screen on a real pseudo-terminal. Its bytes go through a small terminal of the test's own, so that what the
 * terminal shows is compared with what the layout drew, whatever the way from one picture to the next. */
#include "screen_fixture.h"

#include <locale.h>
#include <malloc.h>
#include <stdlib.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "pty.h"
#include "scenes.h"
#include "screen/full.h"
#include "screen/layout.h"

static struct {
    char bytes[300000];
    size_t len, first; /* all of it; of the first call */
    unsigned calls;
} sent;

static ssize_t capture(int fd, const void *bytes, size_t n)
{
    (void)fd;
    assert_true(sent.len + n < sizeof sent.bytes);
    memcpy(sent.bytes + sent.len, bytes, n);
    sent.len += n;
    if (!sent.calls++)
        sent.first = sent.len;
    return (ssize_t)n;
}

#define write capture
#include "screen/term.c"
#undef write

/* The terminal: what is shown, where the cursor is, and whether anything came that it does not know. */
static struct {
    uint32_t cells[CANVAS_ROWS][CANVAS_COLS];
    char looks[CANVAS_ROWS][CANVAS_COLS][16];
    int rows, cols, row, col;
    bool cursor, other_screen;
    char look[16];
} tube;

static void tube_clear(void)
{
    for (int r = 0; r < CANVAS_ROWS; r++)
        for (int c = 0; c < CANVAS_COLS; c++) {
            tube.cells[r][c] = ' ';
            tube.looks[r][c][0] = 0;
        }
}

static void tube_look(const char *numbers)
{
    if (!*numbers || !strcmp(numbers, "0")) {
        tube.look[0] = 0;
    } else {
        assert_true(strlen(tube.look) + strlen(numbers) + 2 < sizeof tube.look);
        strcat(tube.look, numbers);
        strcat(tube.look, ";");
    }
}

static void tube_sequence(const char *numbers, char final)
{
    int a = 0, b = 0;
    switch (final) {
    case 'H':
        if (sscanf(numbers, "%d;%d", &a, &b) == 2) {
            tube.row = a - 1;
            tube.col = b - 1;
        } else {
            tube.row = tube.col = 0;
        }
        break;
    case 'J':
        assert_string_equal(numbers, "2");
        tube_clear();
        break;
    case 'X':
        a = atoi(numbers);
        assert_true(a > 0 && tube.col + a <= tube.cols);
        for (int c = tube.col; c < tube.col + a; c++)
            tube.cells[tube.row][c] = ' ';
        break;
    case 'm':
        tube_look(numbers);
        break;
    case 'h':
    case 'l':
        if (!strcmp(numbers, "?25"))
            tube.cursor = final == 'h';
        if (!strcmp(numbers, "?1049"))
            tube.other_screen = final == 'h';
        break;
    default:
        assert_true(final == 't' || final == 'd'); /* title, position kept by the terminal */
    }
}

static const char *tube_escape(const char *p)
{
    char numbers[30];
    if (*p == '(')
        return p + 2;
    assert_int_equal(*p, '[');
    size_t n = strspn(++p, "0123456789;?");
    assert_true(n < sizeof numbers);
    memcpy(numbers, p, n);
    numbers[n] = 0;
    tube_sequence(numbers, p[n]);
    return p + n + 1;
}

static void tube_char(uint32_t ch)
{
    int wide = ch >= 0x80 && wcwidth((wchar_t)ch) == 2;
    assert_true(tube.row >= 0 && tube.row < tube.rows && tube.col + wide < tube.cols);
    tube.cells[tube.row][tube.col] = ch;
    snprintf(tube.looks[tube.row][tube.col], sizeof tube.looks[0][0], "%s", tube.look);
    if (wide)
        tube.cells[tube.row][tube.col + 1] = 0;
    tube.col += 1 + wide;
}

static void tube_take(void)
{
    const char *p = sent.bytes;
    sent.bytes[sent.len] = 0;
    while (*p) {
        if (*p == '\033') {
            p = tube_escape(p + 1);
        } else if (*p == '\n') {
            assert_true(++tube.row < tube.rows);
            p++;
        } else if (*p == '\b') {
            assert_true(--tube.col >= 0);
            p++;
        } else {
            uint32_t ch = utf8_next(&p);
            assert_false(utf8_unsafe(ch));
            tube_char(ch);
        }
    }
    sent.len = 0;
}

static int master, slave;
static struct screen screen;

static void open_terminal(int rows, int cols, const char *kind)
{
    char path[PTY_PATH], why[300];
    struct winsize w = {.ws_row = (unsigned short)rows, .ws_col = (unsigned short)cols};
    memset(&tube, 0, sizeof tube);
    tube.rows = rows;
    tube.cols = cols;
    tube_clear();
    master = pty_make(path);
    slave = open(path, O_RDWR | O_NOCTTY);
    ioctl(slave, TIOCSWINSZ, &w);
    setenv("TERM", kind, 1);
    sent.len = sent.calls = 0;
    if (!screen_open(&screen, SCREEN_FULL, slave, slave, why, sizeof why))
        fail_msg("%s", why);
}

static void close_terminal(void)
{
    screen_close(&screen);
    close(slave);
    close(master);
}

/* Cells of one look came with the same attributes, cells of another with others. */
static void assert_looks(struct canvas *c, int from, int to)
{
    const char *seen[STYLE_COUNT] = {NULL};
    for (int row = from; row < to; row++)
        for (int col = 0; col < c->cols; col++) {
            const struct cell *cell = canvas_at(c, row, col);
            int look = term.look_of[cell->style];
            if (cell->ch <= ' ')
                continue;
            if (!seen[look])
                seen[look] = tube.looks[row][col];
            assert_string_equal(tube.looks[row][col], seen[look]);
        }
    for (int a = 0; a < STYLE_COUNT; a++)
        for (int b = 0; b < a; b++)
            assert_true(!seen[a] || !seen[b] || strcmp(seen[a], seen[b]) != 0);
}

static void assert_shown(const struct view *v)
{
    static struct canvas c;
    struct layout layout;
    layout_draw(&c, &layout, v, &screen.keys, tube.rows, tube.cols);
    tube_take();
    for (int row = 0; row < c.rows; row++)
        for (int col = 0; col < c.cols; col++)
            if (tube.cells[row][col] != canvas_at(&c, row, col)->ch)
                fail_msg("row %d column %d shows U+%04X, not U+%04X", row, col, tube.cells[row][col],
                         canvas_at(&c, row, col)->ch);
    assert_looks(&c, 0, c.rows);
    assert_int_equal(tube.cursor, c.cursor_row >= 0);
    if (tube.cursor)
        assert_true(tube.row == c.cursor_row && tube.col == c.cursor_col);
}

/* Wide characters and narrow ones in each other's places. */
static const char *const names[] = {"fine", "\u79e4fine", "f\u79e4ine", "\u79e4\u79e4", "W\u00e4ge", "\u79e4\u91cfB"};

/* From any scene to any other, with every net on the way. */
static void walk(int rows, int cols)
{
    struct view v;
    struct keys k;
    uint32_t seed = 5;
    open_terminal(rows, cols, "xterm-256color");
    for (int i = 0; i < 300; i++) {
        seed = seed * 1664525U + 1013904223U;
        scene_make(scene_names[(seed >> 16) % 21], &v, &k);
        v.net = (mass_pg)(seed >> 12) * (PG_PER_G / 1000);
        v.prompt_n = k.prompt = screen.keys.prompt; /* the same line: what is typed stays */
        v.prompt.id = (uint32_t)(100 + i);
        for (int s = 0; s < 2; s++)
            snprintf(v.scales[s].name, sizeof v.scales[s].name, "%s", names[(seed >> (8 + 4 * s)) % 6]);
        screen.keys = k;
        screen_draw(&screen, &v);
        assert_shown(&v);
        for (int moves = 0; moves < 4; moves++) { /* only the weights move, by little and by much */
            seed = seed * 1664525U + 1013904223U;
            v.net =
                moves & 1 ? v.net + v.division : (mass_pg)(seed >> 8) * (PG_PER_G / 50) - 3 * PG_PER_KG * (moves & 2);
            v.has_net = seed & 64;
            v.scales[0].settled = seed >> 10 & 3;
            v.scales[1].reading = seed >> 14 & 7;
            v.scales[1].link = seed & 256 ? LINK_UP : LINK_SILENT;
            mass_format_unit(v.net, UNIT_G, 2, v.scales[moves & 1].shows, sizeof v.scales[0].shows);
            screen_draw(&screen, &v);
            assert_shown(&v);
        }
    }
    close_terminal();
}

static void the_terminal_shows_the_picture(void **state)
{
    (void)state;
    walk(24, 80);
    walk(40, 120);
    walk(31, 97);
}

static void nothing_changed_nothing_sent(void **state)
{
    struct view v;
    struct keys k;
    (void)state;
    open_terminal(24, 80, "xterm-256color");
    scene_make("fill", &v, &k);
    screen_draw(&screen, &v);
    assert_shown(&v);
    sent.calls = 0;
    screen_draw(&screen, &v);
    assert_int_equal(sent.len, 0);
    assert_int_equal(sent.calls, 0);
    close_terminal();
}

/* The first picture in one call; each changed weight in one call of at most 250 bytes in the mean, without the heap. */
static void a_changed_weight_is_cheap(void **state)
{
    struct view v;
    struct keys k;
    size_t bytes = 0;
    int changes = 0;
    (void)state;
    open_terminal(24, 80, "xterm-256color");
    scene_make("fill", &v, &k);
    screen_draw(&screen, &v);
    assert_int_equal(sent.calls, 1);
    for (mass_pg net = 0; net < G(75); net += G(0.37)) {
        struct mallinfo2 before = mallinfo2();
        v.net = net;
        mass_format_unit(net + G(120.34), UNIT_G, 2, v.scales[1].shows, sizeof v.scales[1].shows);
        sent.len = sent.calls = 0;
        screen_draw(&screen, &v);
        assert_int_equal(sent.calls, 1);
        assert_true(mallinfo2().uordblks == before.uordblks);
        bytes += sent.len;
        changes++;
    }
    print_message("%zu bytes per changed weight\n", bytes / (size_t)changes);
    assert_true(bytes / (size_t)changes <= 250);
    close_terminal();
}

/* Of what moves on the weigh page, the tube shows this view's. */
static void assert_page_shown(const struct view *v)
{
    static struct canvas c;
    struct layout l;
    layout_draw(&c, &l, v, &screen.keys, tube.rows, tube.cols);
    assert_true(l.weigh);
    for (int row = l.page.row; row < l.page.row + l.page_taken; row++)
        for (int col = 0; col < c.cols; col++)
            if (tube.cells[row][col] != canvas_at(&c, row, col)->ch)
                fail_msg("after the first write, row %d column %d shows U+%04X, not U+%04X", row, col,
                         tube.cells[row][col], canvas_at(&c, row, col)->ch);
    assert_looks(&c, l.page.row, l.page.row + l.page_taken);
}

static void take_first_call(void)
{
    static char rest[sizeof sent.bytes];
    size_t len = sent.len - sent.first;
    memcpy(rest, sent.bytes + sent.first, len);
    sent.len = sent.first;
    tube_take();
    memcpy(sent.bytes, rest, len);
    sent.len = len;
}

/* One poured weight, in and out of its band, settled or not, silent, over capacity, with the other scale moving too. */
static void pour_on(struct view *v, uint32_t seed)
{
    static const uint8_t states[] = {READING_STABLE, READING_MOVING, READING_OVER, READING_UNIT};
    struct view_scale *s = &v->scales[1], *other = &v->scales[0];
    v->net += (mass_pg)(seed >> 16 & 63) * (PG_PER_G / 50) - (mass_pg)(seed >> 24 & 31) * (PG_PER_G / 50);
    s->reading = states[(seed >> 10 & 7) < 4 ? seed >> 10 & 3 : 0];
    s->settled = seed >> 13 & 3;
    v->cue = (uint8_t)(seed >> 15 & 3) % 3;
    v->has_net = s->reading == READING_STABLE || s->reading == READING_MOVING;
    mass_format_unit(v->net + G(120.34), UNIT_G, 2, s->shows, sizeof s->shows);
    if (!v->has_net)
        s->shows[0] = 0;
    mass_format_unit((mass_pg)(seed >> 20) * PG_PER_G, UNIT_KG, 3, other->shows, sizeof other->shows);
}

/* The first write of a wake-up brings the figure with all that judges it; when the wake-up ends, the terminal shows what a
 * terminal drawn whole would. */
static void pour(int rows, int cols)
{
    struct view v;
    struct keys k;
    uint32_t seed = 9;
    unsigned apart = 0;
    open_terminal(rows, cols, "xterm-256color");
    scene_make("fill", &v, &k);
    screen_draw(&screen, &v);
    assert_shown(&v);
    for (int i = 0; i < 400; i++) {
        seed = seed * 1664525U + 1013904223U;
        if (i % 40 == 0)
            v.net = v.prompt.low - G(0.3); /* to the band, where the verdict changes often */
        pour_on(&v, seed);
        sent.calls = 0;
        sent.first = 0;
        screen_draw(&screen, &v);
        apart += sent.calls == 2;
        take_first_call();
        assert_page_shown(&v);
        assert_shown(&v);
    }
    assert_true(apart > 100);
    close_terminal();
}

static void the_figure_comes_first_and_judged(void **state)
{
    (void)state;
    pour(24, 80);
    pour(40, 120);
    pour(50, 200);
}

/* A rough pour: every reading changes several digits. */
static void rough_pour_bytes(int rows, int cols)
{
    struct view v;
    struct keys k;
    size_t bytes = 0;
    open_terminal(rows, cols, "xterm-256color");
    scene_make("fill", &v, &k);
    screen_draw(&screen, &v);
    sent.len = 0;
    for (int i = 0; i < 100; i++) {
        v.net = G(1) + i * G(0.57);
        mass_format_unit(v.net + G(120.34), UNIT_G, 2, v.scales[1].shows, sizeof v.scales[1].shows);
        screen_draw(&screen, &v);
        bytes += sent.len;
        sent.len = 0;
    }
    print_message("%dx%d: %zu bytes per reading of a rough pour\n", cols, rows, bytes / 100);
    close_terminal();
}

static void a_rough_pour_is_told(void **state)
{
    (void)state;
    rough_pour_bytes(24, 80);
    rough_pour_bytes(40, 120);
    rough_pour_bytes(50, 200);
}

static void the_unit_moves_with_its_figure(void **state)
{
    static const char *const shows[] = {"135.20 g", "135.20 oz", "135.21 g", "135.21 kg", "136.00 kg"};
    struct view v;
    struct keys k;
    (void)state;
    open_terminal(24, 80, "xterm-256color");
    scene_make("container", &v, &k);
    v.has_net = false;
    for (unsigned i = 0; i < sizeof shows / sizeof shows[0]; i++) {
        for (uint8_t s = 0; s < v.scale_count; s++)
            snprintf(v.scales[s].shows, sizeof v.scales[s].shows, "%s", shows[i]);
        screen_draw(&screen, &v);
        assert_shown(&v);
    }
    close_terminal();
}

static void a_resize_draws_anew(void **state)
{
    struct view v;
    struct keys k;
    struct winsize w = {.ws_row = 30, .ws_col = 90};
    (void)state;
    open_terminal(24, 80, "xterm-256color");
    scene_make("over", &v, &k);
    screen_draw(&screen, &v);
    assert_shown(&v);
    ioctl(slave, TIOCSWINSZ, &w);
    raise(SIGWINCH);
    tube.rows = 30;
    tube.cols = 90;
    screen_draw(&screen, &v);
    assert_shown(&v);
    w.ws_row = 10; /* too small now: it says so and goes on */
    ioctl(slave, TIOCSWINSZ, &w);
    raise(SIGWINCH);
    tube.rows = 10;
    screen_draw(&screen, &v);
    assert_shown(&v);
    close_terminal();
}

/* In a window that is too small nobody sees what Enter would accept. */
static void an_unseen_prompt_takes_no_key(void **state)
{
    struct view v;
    struct keys k;
    char line[ANSWER_LINE];
    bool ended;
    (void)state;
    open_terminal(24, 80, "xterm-256color");
    scene_make("near", &v, &k);
    v.prompt.ask = ASK_CONFIRM;
    v.prompt.answers = UINT32_C(1) << ANSWER_YES;
    screen_draw(&screen, &v);
    for (unsigned small = 1; small < 4; small++) {
        struct winsize w = {.ws_row = small % 2 ? 23 : 24, .ws_col = 80};
        ioctl(slave, TIOCSWINSZ, &w);
        raise(SIGWINCH);
        v.at += 1000000;
        screen_draw(&screen, &v);
        assert_int_equal(write(master, "\r", 1), 1);
        assert_int_equal(screen_answer(&screen, &v, v.at + 1000000, line, &ended), small % 2 == 0);
        v.at += 2000000;
    }
    close_terminal();
}

static void the_terminal_is_given_back(void **state)
{
    struct termios before, during, after;
    struct view v;
    struct keys k;
    char path[PTY_PATH], why[300];
    (void)state;
    open_terminal(24, 80, "xterm-256color");
    ptsname_r(master, path, sizeof path);
    screen_close(&screen);
    sent.len = 0;
    tcgetattr(slave, &before);
    assert_true(screen_open(&screen, SCREEN_FULL, slave, slave, why, sizeof why));
    scene_make("fill", &v, &k);
    screen_draw(&screen, &v);
    tcgetattr(slave, &during);
    assert_false(during.c_lflag & (ICANON | ECHO));
    assert_true(during.c_lflag & ISIG || !(before.c_lflag & ISIG));
    tube_take();
    assert_true(tube.other_screen && !tube.cursor);
    screen_close(&screen);
    tube_take();
    assert_false(tube.other_screen);
    assert_true(tube.cursor);
    tcgetattr(slave, &after);
    assert_memory_equal(before.c_cc, after.c_cc, sizeof before.c_cc);
    assert_true(before.c_iflag == after.c_iflag && before.c_oflag == after.c_oflag && before.c_lflag == after.c_lflag);
    close(slave);
    close(master);
}

static void assert_refused(int rows, int cols, const char *kind, const char *expected)
{
    char path[PTY_PATH], why[300] = "";
    struct winsize w = {.ws_row = (unsigned short)rows, .ws_col = (unsigned short)cols};
    master = pty_make(path);
    slave = open(path, O_RDWR | O_NOCTTY);
    ioctl(slave, TIOCSWINSZ, &w);
    setenv("TERM", kind, 1);
    sent.len = 0;
    assert_false(screen_open(&screen, SCREEN_FULL, slave, slave, why, sizeof why));
    assert_string_equal(why, expected);
    assert_int_equal(sent.len, 0);
    close(slave);
    close(master);
}

static void unfit_terminals_are_refused(void **state)
{
    int ends[2];
    char why[300];
    (void)state;
    assert_refused(23, 80, "xterm", "the terminal is 80x23; make it at least 80x24, or use --plain");
    assert_refused(24, 79, "xterm", "the terminal is 79x24; make it at least 80x24, or use --plain");
    assert_refused(0, 0, "xterm", "the terminal does not tell its size; use --plain");
    assert_refused(24, 80, "nosuchkind", "the terminal kind \"nosuchkind\" (TERM) is not known here; use --plain");
    assert_refused(24, 80, "", "the terminal kind \"\" (TERM) is not known here; use --plain");
    assert_refused(24, 80, "dumb", "the terminal kind \"dumb\" (TERM) can't place text; use --plain");
    assert_int_equal(pipe(ends), 0);
    assert_false(screen_open(&screen, SCREEN_FULL, ends[0], ends[1], why, sizeof why));
    assert_string_equal(why, "this is no terminal; use --plain or --json");
    close(ends[0]);
    close(ends[1]);
}

static bool colours_used(const char *kind)
{
    struct view v;
    struct keys k;
    open_terminal(24, 80, kind);
    scene_make("accept", &v, &k);
    screen_draw(&screen, &v);
    sent.bytes[sent.len] = 0;
    bool used = strstr(sent.bytes, "[32m") || strstr(sent.bytes, "[44m");
    close_terminal();
    return used;
}

static void no_colour_is_honoured(void **state)
{
    (void)state;
    unsetenv("NO_COLOR");
    assert_true(colours_used("xterm-256color"));
    assert_false(colours_used("vt220"));
    setenv("NO_COLOR", "1", 1);
    assert_false(colours_used("xterm-256color"));
    setenv("NO_COLOR", "", 1); /* set but empty: not asked for */
    assert_true(colours_used("xterm-256color"));
    unsetenv("NO_COLOR");
}

static void type(const char *keys)
{
    assert_true(pty_say(master, keys, strlen(keys)));
}

static void keys_go_all_the_way(void **state)
{
    struct view v;
    struct keys k;
    char line[ANSWER_LINE];
    bool ended;
    (void)state;
    open_terminal(24, 80, "xterm-256color");
    scene_make("accept", &v, &k);
    v.at = 1000000;
    type("\r"); /* before the prompt was on the screen */
    screen_draw(&screen, &v);
    assert_false(screen_answer(&screen, &v, 2000000, line, &ended));
    assert_false(ended);
    type("\r\r");
    assert_true(screen_answer(&screen, &v, 3000000, line, &ended));
    assert_string_equal(line, "@31 yes");
    assert_false(screen_answer(&screen, &v, 3000000, line, &ended));
    v.prompt_n = 32;
    v.at = 3100000;
    screen_draw(&screen, &v);
    type("+");
    assert_false(screen_answer(&screen, &v, 4000000, line, &ended));
    assert_true(screen_wake(&screen) == 4040000);
    assert_true(screen_answer(&screen, &v, 4040000, line, &ended));
    assert_string_equal(line, "@32 pause");
    close(master);
    assert_false(screen_answer(&screen, &v, 5000000, line, &ended));
    assert_true(ended);
    master = dup(slave);
    close_terminal();
}

/* Whoever comes to the terminal afterwards reads how the batch stands. */
static void the_last_state_stays(void **state)
{
    struct fixture f;
    char text[300];
    (void)state;
    fixture_init(&f);
    open_terminal(24, 80, "xterm-256color");
    assert_true(screen_say(&screen, fixture_effect(&f, SAY_STATE, BATCH_HELD)));
    assert_true(screen_say(&screen, fixture_effect(&f, SAY_END, 1)));
    screen_close(&screen);
    ssize_t n = read(master, text, sizeof text - 1);
    assert_true(n > 0);
    text[n] = 0;
    assert_string_equal(text, "B7: The batch is held: nothing of it leaves until a named person has decided.\n");
    close(slave);
    close(master);
}

static void ascii_where_there_is_no_utf8(void **state)
{
    (void)state;
    open_terminal(24, 80, "xterm");
    term.utf8 = false;
    struct view v;
    struct keys k;
    scene_make("hostile", &v, &k);
    screen_draw(&screen, &v);
    for (size_t i = 0; i < sent.len; i++)
        assert_true((unsigned char)sent.bytes[i] < 0x80);
    close_terminal();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_terminal_shows_the_picture),
        cmocka_unit_test(nothing_changed_nothing_sent),
        cmocka_unit_test(a_changed_weight_is_cheap),
        cmocka_unit_test(the_unit_moves_with_its_figure),
        cmocka_unit_test(a_resize_draws_anew),
        cmocka_unit_test(an_unseen_prompt_takes_no_key),
        cmocka_unit_test(the_figure_comes_first_and_judged),
        cmocka_unit_test(a_rough_pour_is_told),
        cmocka_unit_test(the_terminal_is_given_back),
        cmocka_unit_test(unfit_terminals_are_refused),
        cmocka_unit_test(no_colour_is_honoured),
        cmocka_unit_test(keys_go_all_the_way),
        cmocka_unit_test(the_last_state_stays),
        cmocka_unit_test(ascii_where_there_is_no_utf8),
    };
    setlocale(LC_CTYPE, "C.UTF-8");
    return cmocka_run_group_tests(tests, NULL, NULL);
}
