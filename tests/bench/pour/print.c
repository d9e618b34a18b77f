#include "tests/bench/pour/print.h"

#include <math.h>
#include <stdio.h>

#include "plant/parameters.h"

#define WORST 30

static bool all(const struct pair *p, unsigned value)
{
    (void)p;
    (void)value;
    return true;
}

static bool of_class(const struct pair *p, unsigned value)
{
    return p->cued.class == value;
}

static bool of_mark(const struct pair *p, unsigned value)
{
    return p->cued.mark == value;
}

static bool tenth(const struct pair *p, unsigned value)
{
    return p->cued.tenth == (value == 1);
}

/* A count and the bounds of its share of n, in parts per million. */
static void put_count(size_t count, size_t n)
{
    double low, high;
    wilson((struct count){count, n}, &low, &high);
    printf("%6zu %6.0f..%-6.0f", count, low * 1e6, high * 1e6);
}

static void put_delay(double median_s, double p95_s)
{
    printf(" %5.2f %5.2f", median_s, p95_s);
}

static void put_row(const char *name, const struct tally *t)
{
    printf("%-13s %8zu ", name, t->weighings);
    put_count(t->false_accepts[RULE_OURS], t->weighings);
    put_count(t->false_accepts[RULE_EQUAL], t->weighings);
    put_count(t->false_accepts[RULE_MARK], t->weighings);
    put_count(t->not_accepted[RULE_OURS], t->oracle);
    put_delay(t->median_s[RULE_OURS], t->p95_s[RULE_OURS]);
    put_delay(t->median_s[RULE_EQUAL], t->p95_s[RULE_EQUAL]);
    put_delay(t->median_s[RULE_MARK], t->p95_s[RULE_MARK]);
    printf(" %5.1f %5.1f %5.1f ", 100.0 * (double)t->oracle / (double)t->weighings,
           100.0 * (double)t->accepted[RULE_OURS] / (double)t->weighings,
           100.0 * (double)t->disputed / (double)t->weighings);
    put_delay(t->yes_median_s, t->yes_p95_s);
    printf(" %6.2f\n", 100.0 * (double)t->taken_back / (double)t->weighings);
}

static void put_rows(const struct pair *pairs, size_t n, const char *(*name)(unsigned), unsigned values, chooses choose,
                     bool tenth_only)
{
    struct tally t;
    for (unsigned k = 0; k < values; k++) {
        tally_of(pairs, n, choose, k, tenth_only, &t);
        if (t.weighings)
            put_row(name(k), &t);
    }
}

static const char *class_name(unsigned k)
{
    return class_text((enum pour_class)k);
}

static const char *mark_name(unsigned k)
{
    return mark_text((enum mark_kind)k);
}

static const char *rate_name(unsigned k)
{
    return k ? "10 a second" : "other rates";
}

static const char *total_name(unsigned k)
{
    (void)k;
    return "all";
}

static void put_head(void)
{
    puts("                       false accepts: weighings, and 95 % bounds of a million               not accepted     "
         "     "
         "delay s: median, p95              % of weighings     yes: delay s, % taken back");
    puts("              weighings  ours                5 equal readings     the mark alone      ours                 "
         "ours        5 equal     the mark    oracle ours disputed  median p95");
}

static void put_overweighs(const struct pair *pairs, size_t n)
{
    struct tally t;
    puts("\nOver-weighs (more than half a division above the band), same seeds. By what counts as mass, and really "
         "poured");
    puts("               streams  without  with the cue  poured: without     with   fill s without, with  ratio   cues "
         " not needed %   missed   "
         "hidden   caught");
    for (unsigned k = 0; k <= CLASS_COUNT; k++) {
        tally_of(pairs, n, k < CLASS_COUNT ? of_class : all, k, true, &t);
        if (t.streams)
            printf("%-13s %8zu %8zu %8zu %16zu %8zu %12.2f %12.2f %9.3f %6zu %8.2f %10zu %8zu %8zu\n",
                   k < CLASS_COUNT ? class_name(k) : "all", t.streams, t.overweigh_plain, t.overweigh_cued,
                   t.laden_plain, t.laden_cued, t.fill_plain_s, t.fill_cued_s, t.fill_cued_s / t.fill_plain_s, t.cues,
                   t.cues ? 100.0 * (double)t.needless / (double)t.cues : 0.0, t.missed, t.hidden, t.caught);
    }
}

static const char *fault_of(const struct outcome *o)
{
    if (o->net[RULE_OURS].wrong)
        return "false accept";
    if (o->tare.wrong)
        return "false tare";
    if (o->oracle_accepts && !o->net[RULE_OURS].accepted)
        return "not accepted";
    return o->missed ? "over-weigh missed" : NULL;
}

static void put_worst(const struct pair *pairs, size_t n)
{
    unsigned said = 0;
    double longest_s = 0;
    uint64_t slowest = 0;
    puts("\nWorst weighings, to be replayed alone with --only SEED");
    for (size_t i = 0; i < n; i++) {
        const struct outcome *o = &pairs[i].cued;
        const char *fault = fault_of(o);
        const struct verdict_of *v = o->tare.wrong ? &o->tare : &o->net[RULE_OURS];
        if (fault && said++ < WORST)
            printf("  %-18s %12llu  %-12s mark %-12s error %6.2f d, %6.2f d/s\n", fault, (unsigned long long)o->seed,
                   class_name(o->class), mark_name(o->mark), v->error_d, v->rate_d_s);
        if (o->oracle_accepts && o->tenth && isfinite(o->delay_s[RULE_OURS]) && o->delay_s[RULE_OURS] > longest_s) {
            longest_s = o->delay_s[RULE_OURS];
            slowest = o->seed;
        }
    }
    if (said > WORST)
        printf("  and %u more\n", said - WORST);
    printf("  %-18s %12llu  %.2f s\n", "longest delay", (unsigned long long)slowest, longest_s);
}

void print_tables(const struct pair *pairs, size_t n, uint64_t seed)
{
    printf("bench-pour --weighings %zu --seed %llu; bounds: Wilson's score interval, 95 %%\n\n", n,
           (unsigned long long)seed);
    put_head();
    put_rows(pairs, n, class_name, CLASS_COUNT, of_class, true);
    put_rows(pairs, n, total_name, 1, all, true);
    puts("\nby the scale's motion mark");
    put_rows(pairs, n, mark_name, MARK_KINDS, of_mark, true);
    puts("\nby lines a second (delays of all their weighings)");
    put_rows(pairs, n, rate_name, 2, tenth, false);
    put_overweighs(pairs, n);
    put_worst(pairs, n);
}

static void put_number(const char *key, double value, const char *after)
{
    if (isfinite(value))
        printf("  \"%s\": %.4f%s\n", key, value, after);
    else
        printf("  \"%s\": null%s\n", key, after);
}

void print_json(const struct pair *pairs, size_t n)
{
    struct tally t;
    tally_of(pairs, n, all, 0, true, &t);
    printf("{\n  \"weighings\": %zu,\n  \"false_accepts\": %zu,\n  \"naive_false_accepts\": %zu,\n"
           "  \"naive_mark_false_accepts\": %zu,\n  \"not_accepted\": %zu,\n",
           n, t.false_accepts[RULE_OURS], t.false_accepts[RULE_EQUAL], t.false_accepts[RULE_MARK],
           t.not_accepted[RULE_OURS]);
    put_number("delay_median_s", t.median_s[RULE_OURS], ",");
    put_number("delay_p95_s", t.p95_s[RULE_OURS], ",");
    put_number("yes_median_s", t.yes_median_s, ",");
    put_number("yes_p95_s", t.yes_p95_s, ",");
    printf("  \"yes_taken_back\": %zu,\n", t.taken_back);
    put_number("naive_delay_median_s", t.median_s[RULE_EQUAL], ",");
    put_number("naive_delay_p95_s", t.p95_s[RULE_EQUAL], ",");
    printf("  \"overweigh_without_cue\": %zu,\n  \"overweigh_with_cue\": %zu,\n", t.overweigh_plain, t.overweigh_cued);
    printf("  \"poured_over_without_cue\": %zu,\n  \"poured_over_with_cue\": %zu,\n", t.laden_plain, t.laden_cued);
    put_number("fill_time_ratio", t.fill_cued_s / t.fill_plain_s, ",");
    put_number("needless_cue_pct", t.cues ? 100.0 * (double)t.needless / (double)t.cues : 0, ",");
    printf("  \"overweigh_missed\": %zu\n}\n", t.missed);
}

bool is_good(const struct pair *pairs, size_t n)
{
    struct tally t;
    tally_of(pairs, n, all, 0, true, &t);
    return t.false_accepts[RULE_OURS] == 0 && t.not_accepted[RULE_OURS] == 0 && t.missed == 0;
}

void print_parameters(void)
{
    static const char *const shapes[] = {"even", "log", "log-normal"};
    puts("What the weighings are drawn from. Where no source is named: common practice, from memory. d: divisions.\n");
    for (unsigned k = 0; k < PARAMETER_COUNT; k++) {
        const struct parameter_row *r = parameter_row((enum parameter)k);
        printf("%-15s %6g .. %-6g %-7s %-10s %s\n", r->name, r->low, r->high, r->unit, shapes[r->shape], r->reason);
    }
    puts("\nClasses, equally often");
    for (unsigned k = 0; k < CLASS_COUNT; k++)
        printf("%-15s %s\n", class_name(k), class_what((enum pour_class)k));
}

void print_trace(const struct world *w, const struct reading *r, const char *what)
{
    static const char *const states[] = {"silent", "no weight", "moving", "settled", "disputed"};
    static const char *const marks[] = {"?", "stable", "moving", "over", "under", "fault", "unit"};
    static const char *const cues[] = {"", "ease off", "stop"};
    mass_pg gross;
    if (!r) {
        printf("%8.3f  recorded: %s\n", w->now_s, what);
        return;
    }
    double d = (double)w->c.division;
    enum settle_state state = sequence_scale(&w->s, 0, w->now_ms * 1000 + 1, &gross);
    printf("%8.3f  true %9.2f d  counts %7.2f  shown %8.0f d  %-7s %-9s %-10s %s\n", w->now_s,
           (double)w->platform.load / d, w->disturb.counts_g / w->c.d_g, (double)r->mass / d, marks[r->state],
           states[state], ask_text((enum ask)w->s.prompt.ask), cues[w->cue]);
}

static void put_verdict(const char *name, const struct verdict_of *v)
{
    if (v->accepted)
        printf("%-16s at %.3f s, error %.2f d (of the mass alone %.2f), %.2f d/s%s\n", name, v->at_s, v->error_d,
               v->error_mass_d, v->rate_d_s, v->wrong ? ": FALSE" : "");
    else
        printf("%-16s never\n", name);
}

void print_outcome(const struct outcome *o, const struct pour_case *c)
{
    printf("\nseed %llu: %s, mark %s, %.1f lines a second, filter %u ms, noise %.2f d\n", (unsigned long long)o->seed,
           class_name(o->class), mark_name(o->mark), 1000 / c->frames.period_ms, c->indicator.filter_ms,
           c->indicator.noise_d);
    put_verdict("tare", &o->tare);
    put_verdict("ours", &o->net[RULE_OURS]);
    put_verdict("5 equal readings", &o->net[RULE_EQUAL]);
    put_verdict("the mark alone", &o->net[RULE_MARK]);
    if (o->oracle_accepts)
        printf("oracle           at %.3f s; our delay %.2f s\n", o->oracle_s, o->delay_s[RULE_OURS]);
    else
        puts("oracle           never");
    printf("over-weigh %d, missed %d, cue %d, not needed %d\n", o->over, o->missed, o->cue, o->needless);
}
