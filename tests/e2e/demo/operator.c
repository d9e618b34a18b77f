/* demo-operator TARELINE JOURNAL [SEED]: a simulated person weighs the smokehouse's batch. Starts two pretend scales and the
 * station in plain lines on their ttys, reads what the station asks and what the scales show, and answers, puts, pours and
 * takes as a person would; pours over once on purpose. Exits as the station does; 1 if that takes too long. */
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "core/mass.h"
#include "plant/hand.h"
#include "tests/e2e/demo/child.h"
#include "tests/e2e/demo/heard.h"

#define LONGEST_S 150.0
#define LOOK_S 0.05 /* how often the scale's display is looked at */
#define SEES_S 0.25 /* median reaction of who knows what comes next; the hand that pours has its own (plant/hand.h) */
#define OVER_BIN 7  /* the ingredient that is poured over on purpose, once... */
#define OVER_G 60.0 /* ...by so much beyond the middle of its band */
#define MIX_CELSIUS "2.4"

/* A lug holds what fits into it: what a person puts in where the station names no target. */
static const struct lug {
    unsigned bin;
    double meat_g;
} lugs[] = {{1, 3600}, {1, 3400}, {2, 3000}};
#define LUGS (sizeof lugs / sizeof *lugs)

struct scale {
    const char *name;
    struct child child;
    bool asked, fresh, stable;
    double asked_s, shown_g, truth_g;
};

/* A line that will be said to a child when the person has got round to it. */
struct later {
    struct child *to;
    double at_s;
    char line[120];
};

struct operator
{
    struct child station;
    struct scale scales[2];
    struct heard prompt;
    struct later next, lift; /* one hand answers or puts, the other may clear the platform meanwhile */
    struct hand hand;
    bool pours;
    unsigned item; /* whose container stands on the scale */
    double tare_g, flow_g_s;
    unsigned lugs_done;
    bool poured_over;
    struct random random;
    double now_s;
};

static double clock_s(void)
{
    static double begun;
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    double now = (double)t.tv_sec + (double)t.tv_nsec * 1e-9;
    if (begun <= 0)
        begun = now;
    return now - begun;
}

static struct scale *scale_of(struct operator* o, const char *name)
{
    for (int i = 0; i < 2; i++)
        if (!strcmp(o->scales[i].name, name))
            return &o->scales[i];
    return NULL;
}

__attribute__((format(printf, 4, 5))) static void do_later(struct operator* o, struct later *l, struct child *to,
                                                           const char *format, ...)
{
    va_list args;
    va_start(args, format);
    vsnprintf(l->line, sizeof l->line, format, args);
    va_end(args);
    l->to = to;
    l->at_s = o->now_s + random_lognormal(&o->random, SEES_S, 0.25);
}

/* Does anything stand on that scale? */
static bool standing(const struct operator* o, const struct child *scale)
{
    for (int i = 0; i < 2; i++)
        if (&o->scales[i].child == scale)
            return o->scales[i].truth_g > 0;
    return false;
}

static void do_now(struct operator* o, struct later *l)
{
    if (!l->to || o->now_s < l->at_s)
        return;
    if (l == &o->lift && !standing(o, l->to)) {
        l->to = NULL;
        return;
    }
    printf("%6.1f s  %s %s\n", o->now_s, l->to == &o->station ? "    types" : "    does ", l->line);
    child_say(l->to, l->line);
    l->to = NULL;
}

static void set_flow(struct operator* o, struct scale *s, double flow_g_s)
{
    char line[80];
    if (flow_g_s > 0)
        snprintf(line, sizeof line, "pour 50 kg at %.3f g/s", flow_g_s + 0.001);
    else if (flow_g_s < 0)
        snprintf(line, sizeof line, "take %.3f g at %.3f g/s", s->truth_g / 2, 0.001 - flow_g_s);
    else
        snprintf(line, sizeof line, "stop");
    child_say(&s->child, line);
    o->flow_g_s = flow_g_s;
}

static void let_go(struct operator* o)
{
    struct scale *s = scale_of(o, o->prompt.scale);
    if (o->pours && s)
        set_flow(o, s, 0);
    o->pours = false;
}

/* The band to aim at; a lug without a plan: what it holds, give or take. */
static void aim(const struct operator* o, double *low_g, double *high_g)
{
    double meat_g = lugs[o->lugs_done < LUGS ? o->lugs_done : LUGS - 1].meat_g;
    *low_g = o->prompt.has_band ? o->prompt.low_g : meat_g * 0.9;
    *high_g = o->prompt.has_band ? o->prompt.high_g : meat_g * 1.1;
}

static void begin_fill(struct operator* o, const struct scale *s)
{
    double low_g, high_g, extra_g = 0;
    if (o->item != o->prompt.item) {
        o->item = o->prompt.item;
        o->tare_g = s->shown_g;
        if (o->prompt.bin == OVER_BIN && !o->poured_over) {
            extra_g = OVER_G;
            o->poured_over = true;
        }
    }
    aim(o, &low_g, &high_g);
    struct hand_spec spec = hand_practised(high_g, high_g - low_g);
    spec.fast_g_s *= 1.5; /* a batch must not take longer than somebody likes to watch */
    spec.spoon_g_s *= 2;
    spec.lag_s = 0.12; /* the display is read directly, not by the line */
    hand_begin(&o->hand, &spec, extra_g, o->now_s, random_bits(&o->random));
    o->pours = true;
    printf("%6.1f s      pours%s\n", o->now_s, extra_g > 0 ? " too much, on purpose" : "");
}

static bool more_lugs(const struct operator* o)
{
    return o->lugs_done < LUGS && o->lugs_done > 0 && lugs[o->lugs_done].bin == lugs[o->lugs_done - 1].bin;
}

static void answer(struct operator* o)
{
    const struct heard *p = &o->prompt;
    if (heard_takes(p, "person CODE"))
        do_later(o, &o->next, &o->station, "@%u person TH", p->n);
    else if (heard_takes(p, "lot CODE") && !strcmp(p->ask, "lot"))
        do_later(o, &o->next, &o->station, "@%u lot P%u%03u", p->n, p->bin, 100 + p->item);
    else if (heard_takes(p, "yes CODE"))
        do_later(o, &o->next, &o->station, "@%u yes MV", p->n);
    else if (heard_takes(p, "value NUMBER"))
        do_later(o, &o->next, &o->station, "@%u value " MIX_CELSIUS, p->n);
    else if (!strcmp(p->ask, "more"))
        do_later(o, &o->next, &o->station, "@%u %s", p->n, more_lugs(o) ? "yes" : "no");
    else if (heard_takes(p, "yes"))
        do_later(o, &o->next, &o->station, "@%u yes", p->n);
}

static void follow_prompt(struct operator* o, const struct heard *h)
{
    struct scale *s = scale_of(o, h->scale);
    bool over = !strcmp(h->ask, "over"), fill = !strcmp(h->ask, "fill");
    if (!over && !fill)
        let_go(o);
    o->prompt = *h;
    o->next.to = NULL;
    if (fill && s && !o->pours)
        begin_fill(o, s);
    else if (!strcmp(h->ask, "clear") && s && !o->lift.to && s->truth_g > 0)
        do_later(o, &o->lift, &s->child, "take all");
    else if (!strcmp(h->ask, "container") && s)
        do_later(o, &o->next, &s->child, "put %s", h->bin <= 2 ? "1.2 kg" : "85 g");
    else if (!over && !fill)
        answer(o);
}

static void hear_station(struct operator* o)
{
    char line[CHILD_LINE];
    while (child_line(&o->station, line)) {
        struct heard h;
        struct scale *s;
        printf("%6.1f s  %s\n", o->now_s, line);
        heard_read(line, &h);
        if (h.kind == HEARD_PROMPT) {
            follow_prompt(o, &h);
        } else if (h.kind == HEARD_RECORDED) {
            let_go(o);
            o->lugs_done += !h.has_band;
            if ((s = scale_of(o, h.scale)))
                do_later(o, &o->lift, &s->child, "take all");
        } else if (h.kind == HEARD_REFUSED && h.n == o->prompt.n) {
            answer(o);
            o->next.at_s += 1;
        }
    }
}

/* "ok true 485 g, shown 0.485 kg gross, stable" */
static void read_display(struct scale *s, const char *line)
{
    char truth[40], shown[40], basis[8], motion[24];
    mass_pg mass;
    if (sscanf(line, "ok true %39[^,], shown %39[0-9.a-z -] %7s", truth, shown, basis) < 2)
        return;
    s->asked = false;
    if (mass_parse(truth, strlen(truth), &mass) == FAIL_NONE)
        s->truth_g = (double)mass * 1e-12;
    char *last = strrchr(shown, ' ');
    if (last)
        *last = 0; /* gross or net */
    s->fresh = mass_parse(shown, strlen(shown), &mass) == FAIL_NONE;
    s->stable = sscanf(strrchr(line, ',') + 1, " %23s", motion) == 1 && !strcmp(motion, "stable");
    if (s->fresh)
        s->shown_g = (double)mass * 1e-12;
}

static void hear_scale(struct scale *s)
{
    char line[CHILD_LINE];
    while (child_line(&s->child, line)) {
        if (strncmp(line, "ok", 2) != 0)
            printf("          the %s scale: %s\n", s->name, line);
        read_display(s, line);
    }
}

static void look(struct operator* o, struct scale *s)
{
    if (s->asked || o->now_s < s->asked_s + LOOK_S)
        return;
    s->asked = true;
    s->asked_s = o->now_s;
    child_say(&s->child, "show");
}

static void move_hand(struct operator* o)
{
    struct scale *s = scale_of(o, o->prompt.scale);
    struct hand_view view = {0};
    if (!o->pours || !s)
        return;
    aim(o, &view.low_g, &view.high_g);
    view.fresh = s->fresh;
    view.settled = s->stable;
    view.says_over = !strcmp(o->prompt.ask, "over");
    view.net_g = s->shown_g - o->tare_g;
    double flow = hand_step(&o->hand, o->now_s, &view);
    if (fabs(flow - o->flow_g_s) > 0.03 * fabs(o->flow_g_s)) /* no verb for each gram that it eases off */
        set_flow(o, s, flow);
}

static void wait_for_any(struct operator* o)
{
    struct pollfd f[3] = {{.fd = o->station.from, .events = POLLIN},
                          {.fd = o->scales[0].child.from, .events = POLLIN},
                          {.fd = o->scales[1].child.from, .events = POLLIN}};
    poll(f, 3, 20);
    o->now_s = clock_s();
    if (f[0].revents)
        child_fill(&o->station);
    for (int i = 0; i < 2; i++)
        if (f[i + 1].revents)
            child_fill(&o->scales[i].child);
}

static bool weigh(struct operator* o)
{
    while (o->station.from >= 0 && o->now_s < LONGEST_S) {
        wait_for_any(o);
        for (int i = 0; i < 2; i++) {
            hear_scale(&o->scales[i]);
            look(o, &o->scales[i]);
        }
        hear_station(o);
        move_hand(o);
        do_now(o, &o->next);
        do_now(o, &o->lift);
        fflush(stdout);
    }
    return o->station.from < 0;
}

/* Starts a pretend scale and reads the path of its tty. */
static bool start_scale(struct scale *s, const char *name, char *const argv[], char path[CHILD_LINE])
{
    s->name = name;
    if (!child_start(&s->child, argv))
        return false;
    while (s->child.from >= 0 && !child_line(&s->child, path))
        child_fill(&s->child);
    return s->child.from >= 0;
}

static bool start(struct operator* o, char *program, char *journal)
{
    char path[CHILD_LINE], bench[CHILD_LINE + 100], fine[CHILD_LINE + 100];
    char *const bench_argv[] = {program, "pretend", "status-basis-kg", "--capacity", "15kg", "--division", "5g", NULL};
    char *const fine_argv[] = {program,      "pretend", "asked-comma-g", "--capacity", "600g",
                               "--division", "0.01g",   "--seed",        "2",          NULL};
    if (!start_scale(&o->scales[0], "bench", bench_argv, path))
        return false;
    snprintf(bench, sizeof bench, "bench=status-basis-kg@%s,capacity=15kg,division=5g,class=III", path);
    if (!start_scale(&o->scales[1], "fine", fine_argv, path))
        return false;
    snprintf(fine, sizeof fine, "fine=asked-comma-g@%s,capacity=600g,division=0.01g,class=II", path);
    char *const station_argv[] = {program,
                                  "weigh",
                                  "smoked-bratwurst",
                                  "--station",
                                  "profiles/stations/smokehouse.ini",
                                  "--scale",
                                  bench,
                                  "--scale",
                                  fine,
                                  "--journal",
                                  journal,
                                  "--plain",
                                  NULL};
    return child_start(&o->station, station_argv);
}

int main(int argc, char **argv)
{
    static struct operator o;
    if (argc < 3) {
        fprintf(stderr, "usage: demo-operator TARELINE JOURNAL [SEED]\n");
        return 2;
    }
    signal(SIGPIPE, SIG_IGN);
    random_seed(&o.random, argc > 3 ? strtoull(argv[3], NULL, 10) : 1);
    o.now_s = clock_s();
    if (!start(&o, argv[1], argv[2])) {
        fprintf(stderr, "demo-operator: %s can't be started, or ended at once\n", argv[1]);
        return 1;
    }
    bool ended = weigh(&o);
    if (!ended) {
        fprintf(stderr, "demo-operator: not done after %.0f s\n", LONGEST_S);
        kill(o.station.pid, SIGTERM);
    }
    int code = child_end(&o.station);
    for (int i = 0; i < 2; i++) {
        child_say(&o.scales[i].child, "quit");
        child_end(&o.scales[i].child);
    }
    return !ended || code < 0 ? 1 : code;
}
