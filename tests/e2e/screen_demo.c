/* Shows the made-up scenes on a terminal (make build/screen-demo), one after another (Enter: the next; or only those named). With --pour SCENE
 * the weight rises at 10 Hz; what the keys make is shown in the notice line. */
#include <poll.h>
#include <stdlib.h>
#include <time.h>
#include <unistd.h>

#include "tests/unit/scenes.h"

static uint64_t now_us(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (uint64_t)t.tv_sec * 1000000U + (uint64_t)t.tv_nsec / 1000U;
}

static void pour(struct view *v, unsigned step)
{
    v->net = G(0.37) * step;
    v->prompt.net = v->net;
    mass_format_unit(v->net + G(120.34), UNIT_G, 2, v->scales[1].shows, sizeof v->scales[1].shows);
    v->scales[1].settled = SETTLE_MOVING;
}

/* False: the terminal is gone, or Enter asked for the next one. */
static void show(struct screen *s, const char *name, bool pouring, unsigned steps)
{
    static uint32_t prompt;
    struct view v;
    struct keys k;
    scene_make(name, &v, &k);
    v.prompt_n = ++prompt;
    for (unsigned step = 0; !steps || step < steps; step++) {
        struct pollfd p = {.fd = s->in, .events = POLLIN};
        char line[ANSWER_LINE];
        bool ended;
        v.at = now_us();
        if (pouring)
            pour(&v, step);
        screen_draw(s, &v);
        if (!step) { /* after the draw that showed the prompt: what the scene has typed already */
            memcpy(s->keys.typed, k.typed, sizeof k.typed);
            s->keys.typed_len = k.typed_len;
            s->keys.writing = k.writing;
            s->keys.sure = k.sure;
            screen_draw(s, &v);
        }
        poll(&p, 1, 100);
        while (screen_answer(s, &v, now_us(), line, &ended))
            snprintf(v.notice, sizeof v.notice, "answer: %.150s", line);
        if (ended || strstr(v.notice, "answer:"))
            break;
    }
    screen_draw(s, &v);
    if (!steps)
        usleep(400000);
}

int main(int argc, char **argv)
{
    struct screen s;
    char why[200];
    if (!screen_open(&s, SCREEN_FULL, 0, 1, why, sizeof why)) {
        fprintf(stderr, "screen_demo: %s\n", why);
        return 2;
    }
    if (argc >= 3 && !strcmp(argv[1], "--pour"))
        show(&s, argv[2], true, argc > 3 ? (unsigned)atoi(argv[3]) : 0);
    else if (argc > 1)
        for (int i = 1; i < argc; i++)
            show(&s, argv[i], false, 0);
    else
        for (int i = 0; scene_names[i]; i++)
            show(&s, scene_names[i], false, 0);
    screen_close(&s);
    return 0;
}
