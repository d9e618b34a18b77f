/* Golden screens: made-up views against the pictures in tests/unit/screens (`make golden` draws them anew), and what a
 * picture does not show: styles, sizes, the band bar's pointer. */
#include "screen_fixture.h"

#include <locale.h>
#include <stdlib.h>

#include "scenes.h"
#include "screen/bandbar.h"
#include "screen/bigdigits.h"
#include "screen/layout.h"

#define PICTURE 65536

static struct canvas canvas;
static struct layout layout;

static bool rebuilding(void)
{
    const char *mode = getenv("TARELINE_GOLDEN");
    return mode && !strcmp(mode, "rebuild");
}

static void draw(const char *scene, int rows, int cols)
{
    struct view v;
    struct keys k;
    scene_make(scene, &v, &k);
    layout_draw(&canvas, &layout, &v, &k, rows, cols);
}

static bool row_says(int row, const char *words)
{
    char text[1300];
    canvas_row(&canvas, row, text, sizeof text);
    return strstr(text, words) != NULL;
}

static bool page_says(const char *words)
{
    for (int row = 0; row < canvas.rows; row++)
        if (row_says(row, words))
            return true;
    return false;
}

static size_t picture(char *buf)
{
    size_t len = 0;
    for (int row = 0; row < canvas.rows; row++) {
        len += canvas_row(&canvas, row, buf + len, PICTURE - len - 2);
        buf[len++] = '\n';
    }
    buf[len] = 0;
    return len;
}

static void compare(const char *scene, int rows, int cols)
{
    static char now[PICTURE], golden[PICTURE];
    char path[100];
    bool rebuild = rebuilding();
    draw(scene, rows, cols);
    size_t len = picture(now);
    snprintf(path, sizeof path, "tests/unit/screens/%s-%dx%d.txt", scene, cols, rows);
    FILE *f = fopen(path, rebuild ? "w" : "r");
    if (!f)
        fail_msg("%s can't be opened; make golden draws it", path);
    if (rebuild) {
        fwrite(now, 1, len, f);
    } else {
        golden[fread(golden, 1, sizeof golden - 1, f)] = 0;
        if (strcmp(golden, now) != 0)
            fail_msg("%s is not what is drawn now:\n%s", path, now);
    }
    fclose(f);
}

static void golden_screens(void **state)
{
    static const char *const larger[] = {"near", "over", "lot", "add", "ease", "stop"};
    (void)state;
    for (size_t i = 0; scene_names[i]; i++)
        compare(scene_names[i], 24, 80);
    for (size_t i = 0; i < sizeof larger / sizeof larger[0]; i++)
        compare(larger[i], 40, 120);
    compare("near", 50, 200);
}

/* No scene, however small or large the terminal, draws outside of it, leaves a control on it, or loses the keys. */
static void every_size(void **state)
{
    static const int sizes[][2] = {{1, 1},    {2, 10},  {24, 80},   {25, 81}, {24, 300},
                                   {100, 80}, {31, 97}, {100, 300}, {60, 400}};
    (void)state;
    for (size_t i = 0; scene_names[i]; i++)
        for (size_t s = 0; s < sizeof sizes / sizeof sizes[0]; s++) {
            char keys[1300];
            draw(scene_names[i], sizes[s][0], sizes[s][1]);
            assert_true(canvas.rows <= sizes[s][0] && canvas.cols <= sizes[s][1]);
            for (int r = 0; r < canvas.rows; r++)
                for (int c = 0; c < canvas.cols; c++)
                    assert_true(canvas_at(&canvas, r, c)->ch == 0 || canvas_at(&canvas, r, c)->ch >= ' ');
            canvas_row(&canvas, canvas.rows - 1, keys, sizeof keys);
            assert_true(sizes[s][0] < 24 || strlen(keys) > 5);
        }
}

static void a_small_window_says_so(void **state)
{
    char text[1300];
    (void)state;
    draw("fill", 20, 100);
    canvas_row(&canvas, 0, text, sizeof text);
    assert_string_equal(text, "Make the window larger: 80x24 is needed, it is 100x20. No key counts until then.");
}

static enum style figure_style(const char *scene)
{
    draw(scene, 24, 80);
    for (int c = 0; c < 60; c++)
        if (canvas_at(&canvas, 2, c)->ch == 0x2588)
            return (enum style)canvas_at(&canvas, 2, c)->style;
    return STYLE_COUNT;
}

static void styles_of_the_figure(void **state)
{
    (void)state;
    assert_int_equal(figure_style("fill"), STYLE_STRONG);
    assert_int_equal(figure_style("accept"), STYLE_GOOD);
    assert_int_equal(figure_style("over"), STYLE_ABNORMAL);
    assert_int_equal(figure_style("lug"), STYLE_STRONG);
    draw("hostile", 24, 80);
    assert_int_equal(canvas_at(&canvas, 21, 1)->style, STYLE_DANGER);
    assert_int_equal(canvas_at(&canvas, 22, 1)->style, STYLE_ACT);
}

/* Words and shape stand in a field of their own colour, whatever else the row holds; it goes with the cue. */
static void the_cue_has_its_field(void **state)
{
    struct view v;
    struct keys k;
    (void)state;
    for (int cols = 80; cols <= 200; cols += 40) {
        draw("stop", 24, cols);
        int row = 2;
        while (row < 24 && canvas_at(&canvas, row, cols - 3)->style != STYLE_ACT)
            row++;
        assert_in_range(row, 3, 14);
        for (int c = 0; c < 24; c++)
            assert_int_equal(canvas_at(&canvas, row, cols - 2 - c)->style, STYLE_ACT);
        assert_int_not_equal(canvas_at(&canvas, row, cols - 26)->style, STYLE_ACT);
        scene_make("ease", &v, &k);
        assert_true(layout_move(&canvas, &layout, &v, &k));
        assert_int_equal(canvas_at(&canvas, row, cols - 3)->style, STYLE_ABNORMAL);
        v.cue = CUE_NONE;
        assert_true(layout_move(&canvas, &layout, &v, &k));
        assert_int_equal(canvas_at(&canvas, row, cols - 3)->style, STYLE_PLAIN);
    }
}

static bool has_pointer(const char *scene)
{
    draw(scene, 24, 80);
    for (int r = 0; r < 15; r++) /* below them it is a verdict in the docket */
        for (int c = 0; c < 80; c++)
            if (canvas_at(&canvas, r, c)->ch == 0x25BC)
                return true;
    return false;
}

static void no_pointer_where_readings_are_seldom(void **state)
{
    (void)state;
    assert_true(has_pointer("near"));
    assert_false(has_pointer("seldom"));
}

static void no_sign_before_nothing(void **state)
{
    struct view v;
    struct keys k;
    (void)state;
    scene_make("near", &v, &k);
    v.lines[0].net = v.lines[0].target;
    v.lines[1].net = v.lines[1].target + PG_PER_G;
    v.lines[0].has_target = v.lines[1].has_target = true;
    v.line_count = 2;
    layout_draw(&canvas, &layout, &v, &k, 50, 200);
    assert_true(page_says(" 0.000 kg") || page_says(" 0.00 g"));
    assert_false(page_says("+0.000 kg") || page_says("+0.00 g"));
    assert_true(page_says("+0.001 kg") || page_says("+1.00 g"));
}

/* The three rows below the figure: the display, what is to go, the pointer. */
static void shows_only(const char *display)
{
    assert_true(row_says(11, display));
    assert_false(row_says(12, "in its band"));
    assert_false(row_says(13, "▼"));
    for (int c = 0; c < 60; c++)
        assert_int_not_equal(canvas_at(&canvas, 2, c)->style, STYLE_GOOD);
}

/* A platform that must be empty never looks good for what lies on it, though that is a net inside the band. */
static void an_empty_platform_has_no_net(void **state)
{
    (void)state;
    for (int empty = 0; empty < 2; empty++) {
        struct view v;
        struct keys k;
        scene_make("empty", &v, &k);
        v.net = G(62.20);
        snprintf(v.scales[1].shows, sizeof v.scales[1].shows, "182.54 g");
        if (!empty)
            v.prompt.ask = ASK_CLEAR;
        layout_draw(&canvas, &layout, &v, &k, 24, 80);
        shows_only("display of fine: 182.54 g");
        v.net = G(62.21); /* nor when only the weight moves */
        snprintf(v.scales[1].shows, sizeof v.scales[1].shows, "182.55 g");
        assert_true(layout_move(&canvas, &layout, &v, &k));
        shows_only("display of fine: 182.55 g");
    }
}

/* Each with its number and mass, beside the formula's words; what has no room is told. */
static void all_that_goes_in_stands_there(void **state)
{
    struct view v;
    struct keys k;
    char row[40];
    (void)state;
    for (int count = 1; count <= VIEW_DOCKET; count++) {
        scene_make("add", &v, &k);
        v.add_count = (uint16_t)count;
        for (int i = 0; i < count; i++) {
            v.adds[i] = v.adds[0];
            v.adds[i].item = (uint16_t)(100 + i);
        }
        layout_draw(&canvas, &layout, &v, &k, 24, 80);
        int told = 0, more = 0, words = 0;
        for (int r = 2; r < 16; r++) {
            for (int i = 0; i < count; i++) {
                snprintf(row, sizeof row, "%d  12.415 kg  Pork", 100 + i);
                told += row_says(r, row);
            }
            for (int i = 1; i <= count; i++) {
                snprintf(row, sizeof row, "and %d more: make", i);
                more = row_says(r, row) ? i : more;
            }
            words += row_says(r, v.text);
        }
        assert_int_equal(told + more, count);
        assert_true(words == 1 && (count > 18 || !more));
    }
}

/* A code that is typed from the pause's menu does not stand below "Accept it?". */
static void another_person_is_asked_who(void **state)
{
    struct view v;
    struct keys k;
    (void)state;
    scene_make("accept", &v, &k);
    v.state = BATCH_PAUSED;
    k.writing = ANSWER_PERSON;
    layout_draw(&canvas, &layout, &v, &k, 24, 80);
    bool who = false;
    for (int r = 16; r < 23; r++) {
        who = who || row_says(r, "Who is weighing?");
        assert_false(row_says(r, "Accept it?"));
    }
    assert_true(who);
}

/* Where nobody signs in nobody can release what is held: said before it is held, not after. */
static void holding_without_people_is_for_good(void **state)
{
    struct view v;
    struct keys k;
    static char all[PICTURE];
    (void)state;
    scene_make("under", &v, &k);
    snprintf(v.person, sizeof v.person, "unnamed");
    layout_draw(&canvas, &layout, &v, &k, 24, 80);
    picture(all);
    assert_null(strstr(all, "until somebody decides"));
    assert_non_null(strstr(all, "hold it: here it can then only be ended"));
}

/* Also on the smallest screen what to do stands there to the end, as long as a driver's words can be. */
static void why_it_cannot_be_used(void **state)
{
    struct view v;
    struct keys k;
    static char all[PICTURE];
    (void)state;
    scene_make("dead", &v, &k);
    snprintf(v.notice, sizeof v.notice, "%s",
             "The bench scale is unplugged. Plug it in again. /dev/ttyUSB0 only says in which order it was plugged in, "
             "and 2 "
             "such ports are here: give the name that tareline ports --prove prints");
    layout_draw(&canvas, &layout, &v, &k, 24, 80);
    picture(all);
    assert_non_null(strstr(all, "The bench scale is unplugged. Plug it in again."));
    assert_non_null(strstr(all, "--prove prints"));
    layout_draw(&canvas, &layout, &v, &k, 30, 120);
    picture(all);
    assert_non_null(strstr(all, "--prove prints"));
}

/* All nine choices are there at the smallest size, whatever else takes rows. */
static void nine_choices_fit(void **state)
{
    struct view v;
    struct keys k;
    static char all[PICTURE];
    (void)state;
    scene_make("under", &v, &k);
    v.choice_count = 0;
    for (int i = 0; i < 9; i++) {
        char lot[20];
        snprintf(lot, sizeof lot, "LOT%d", i + 1);
        scene_choice(&v, ANSWER_LOT, lot);
    }
    snprintf(
        v.notice, sizeof v.notice, "%s",
        "a notice that is so long that it takes all three of the rows that a notice may take, as those do in which a "
        "driver says at length what is the matter with its device, and what to do");
    snprintf(v.sentence, sizeof v.sentence, "%s",
             "a sentence that is so long that it takes both of the rows that a sentence may take, too");
    layout_draw(&canvas, &layout, &v, &k, 24, 80);
    picture(all);
    for (int i = 0; i < 9; i++) {
        char lot[20];
        snprintf(lot, sizeof lot, "LOT%d", i + 1);
        assert_non_null(strstr(all, lot));
    }
}

static struct bandbar bar(mass_pg low, mass_pg high, mass_pg division)
{
    return (struct bandbar){
        .low = low, .high = high, .division = division, .unit = UNIT_G, .places = 2, .has_net = true};
}

/* The pointer never goes back while the net rises, stands on the band exactly when the net is in it, and moves at least
 * ten columns for the last tenth of the way: fine near the target. */
static void the_pointer_tells_the_truth(void **state)
{
    (void)state;
    static const int widths[] = {40, 78, 118, 198};
    for (size_t w = 0; w < 4; w++)
        for (int kind = 0; kind < 3; kind++) {
            struct bandbar b = kind == 0   ? bar(G(62), G(62.5), G(0.01))
                               : kind == 1 ? bar(G(1980), G(2020), G(5))
                                           : bar(G(100), G(100), G(1));
            int last = 0, low = bandbar_column(&b, widths[w], b.low), high = bandbar_column(&b, widths[w], b.high);
            for (b.net = -b.division; b.net < b.high * 2; b.net += b.division) {
                int at = bandbar_pointer(&b, widths[w]);
                assert_true(at >= last && at < widths[w]);
                assert_int_equal(at >= low && at <= high, b.net >= b.low && b.net <= b.high);
                last = at;
            }
            assert_true(low - bandbar_column(&b, widths[w], b.low / 10 * 9) >= widths[w] / 8);
        }
}

static void digits_fit_their_room(void **state)
{
    (void)state;
    for (int figures = 1; figures <= 9; figures++)
        for (int rows = 0; rows <= 60; rows += 3)
            for (int cols = 0; cols <= 300; cols += 7) {
                char text[12] = "";
                struct digit_size s = bigdigits_size(figures, rows, cols);
                assert_true(s.rows <= rows && s.cols >= 0);
                for (int i = 0; i < figures; i++)
                    strcat(text, i == 1 ? ".8" : "8");
                if (s.rows && figures > 1)
                    assert_true(bigdigits_columns(&s, text) <= cols);
            }
    assert_true(bigdigits_size(5, 9, 60).rows == 9);
    assert_true(bigdigits_size(5, 23, 150).rows > 11);
}

static void wrapped_text(void **state)
{
    struct area a = {0, 0, 3, 10};
    char row[50];
    (void)state;
    canvas_clear(&canvas, 5, 20);
    assert_int_equal(canvas_wrap(&canvas, &a, STYLE_PLAIN, "mix it until it is tacky and cold"), 3);
    canvas_row(&canvas, 0, row, sizeof row);
    assert_string_equal(row, "mix it");
    canvas_row(&canvas, 2, row, sizeof row);
    assert_string_equal(row, "is tacky …");
    assert_int_equal(canvas_wrap(NULL, &a, STYLE_PLAIN, "abcdefghijklmnop"), 2);
    assert_int_equal(canvas_wrap(NULL, &a, STYLE_PLAIN, ""), 0);
}

static void a_dead_scale_says_why(void **state)
{
    static const struct view nothing;
    (void)state;
    static const struct {
        uint8_t link;
        const char *words;
    } rows[] = {{LINK_SILENT, "! silent"},
                {LINK_NOISE, "! garbled"},
                {LINK_UNPLUGGED, "! unplugged"},
                {LINK_TAKEN, "! in use"},
                {LINK_UNUSABLE, "! unusable"}};
    for (unsigned k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        struct view_scale scale = {.link = rows[k].link, .settled = SETTLE_SETTLED};
        enum style style;
        assert_string_equal(condition_text(&nothing, &scale, &style), rows[k].words);
        assert_int_equal(style, STYLE_ABNORMAL);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_dead_scale_says_why),
        cmocka_unit_test(golden_screens),
        cmocka_unit_test(no_sign_before_nothing),
        cmocka_unit_test(why_it_cannot_be_used),
        cmocka_unit_test(every_size),
        cmocka_unit_test(a_small_window_says_so),
        cmocka_unit_test(styles_of_the_figure),
        cmocka_unit_test(the_cue_has_its_field),
        cmocka_unit_test(no_pointer_where_readings_are_seldom),
        cmocka_unit_test(an_empty_platform_has_no_net),
        cmocka_unit_test(all_that_goes_in_stands_there),
        cmocka_unit_test(another_person_is_asked_who),
        cmocka_unit_test(holding_without_people_is_for_good),
        cmocka_unit_test(nine_choices_fit),
        cmocka_unit_test(the_pointer_tells_the_truth),
        cmocka_unit_test(digits_fit_their_room),
        cmocka_unit_test(wrapped_text),
    };
    setlocale(LC_CTYPE, "C.UTF-8");
    if (rebuilding())
        cmocka_set_test_filter("golden_screens");
    return cmocka_run_group_tests(tests, NULL, NULL);
}
