/* Words: see words.h. */
#include <stdlib.h>
#include <string.h>

#include "report/words.h"
#include "screen/text.h"

/* True if the mass is a whole number of steps of the last place: a pound is no round number of picograms, so not every unit
 * has every place. */
static bool exact(mass_pg mass, enum mass_unit unit, uint8_t places)
{
    mass_pg step = unit_pg(unit);
    for (uint8_t k = 0; k < places; k++) {
        if (step % 10 != 0)
            return false;
        step /= 10;
    }
    return mass % step == 0;
}

static bool all_exact(const mass_pg *figures, unsigned count, enum mass_unit unit, uint8_t places)
{
    for (unsigned k = 0; k < count; k++)
        if (!exact(figures[k], unit, places))
            return false;
    return true;
}

/* Metric first, as the scale shows it; pounds and ounces only where metric can't show the figures exactly (a scale that was
 * switched over); at last rounded. A record never says less than what was weighed, if a unit can say it. */
struct look look_of(const struct batch_report *b, const char *scale, const mass_pg *figures, unsigned count)
{
    mass_pg largest = 0;
    for (unsigned k = 0; k < count; k++) {
        mass_pg size = figures[k] < 0 ? -(figures[k] + 1) : figures[k]; /* +1: the least mass has no positive */
        largest = size > largest ? size : largest;
    }
    enum mass_unit metric = largest >= PG_PER_KG ? UNIT_KG : UNIT_G;
    for (uint8_t k = 0; k < b->station.scale_count; k++) {
        mass_pg division = b->station.scales[k].division;
        if (division <= 0 || strcmp(b->station.scales[k].name, scale) != 0)
            continue;
        uint8_t places = (uint8_t)mass_places(division, metric);
        if (all_exact(figures, count, metric, places))
            return (struct look){(uint8_t)metric, places};
    }
    const uint8_t units[] = {(uint8_t)metric, UNIT_LB, UNIT_OZ};
    for (unsigned u = 0; u < sizeof units; u++)
        for (uint8_t places = 0; places <= 4; places++)
            if (all_exact(figures, count, (enum mass_unit)units[u], places))
                return (struct look){units[u], u == 0 && metric == UNIT_KG && places < 3 ? 3 : places};
    return (struct look){(uint8_t)metric, metric == UNIT_KG ? 4 : 3};
}

const char *look_mass(struct look look, mass_pg mass, char buf[MASS_TEXT_MAX])
{
    if (!mass_format_unit(mass, (enum mass_unit)look.unit, look.places, buf, MASS_TEXT_MAX))
        buf[0] = '\0';
    return buf;
}

const char *look_difference(struct look look, mass_pg mass, char buf[MASS_TEXT_MAX])
{
    text_difference(mass, (enum mass_unit)look.unit, look.places, buf);
    return buf;
}

/* The minus of -0.5 is lost in -500 / 1000, so it is written by itself. */
const char *words_check(int32_t milli, const char *unit, char buf[MASS_TEXT_MAX])
{
    int32_t rest = abs(milli % 1000);
    int n = snprintf(buf, MASS_TEXT_MAX, "%s%d", milli < 0 && milli > -1000 ? "-" : "", milli / 1000);
    if (rest) {
        n += snprintf(buf + n, (size_t)(MASS_TEXT_MAX - n), ".%03d", rest);
        while (buf[n - 1] == '0')
            n--;
    }
    snprintf(buf + n, (size_t)(MASS_TEXT_MAX - n), " %s", unit);
    return buf;
}

const char *words_person(const struct batch_report *b, const char *code, char buf[CAP_NAME + CAP_PERSON + 4])
{
    const char *name = batch_person_name(b, code);
    if (!*code)
        snprintf(buf, CAP_NAME + CAP_PERSON + 4, "nobody named");
    else if (name)
        snprintf(buf, CAP_NAME + CAP_PERSON + 4, "%s (%s)", code, name);
    else
        snprintf(buf, CAP_NAME + CAP_PERSON + 4, "%s", code);
    return buf;
}

/* The name of what an item weighs; the number alone where that is not known. */
static void item_name(const struct batch_report *b, uint16_t item, char *buf, size_t cap)
{
    uint8_t index = item <= CAP_ITEMS ? b->of_item[item] : NO_INGREDIENT;
    if (index != NO_INGREDIENT)
        snprintf(buf, cap, "%s (item %u)", batch_ingredient_name(b, index), item);
    else
        snprintf(buf, cap, "item %u", item);
}

struct notice_words {
    const char *code, *words; /* {scale}, {item}, {mass} */
};
static const struct notice_words notices[] = {
    {"silent", "{scale} fell silent"},
    {"unplugged", "{scale} was unplugged"},
    {"back", "{scale} was back"},
    {"unit", "{scale} showed a unit that could not be known"},
    {"motion", "{scale} marked motion while its figures stood still"},
    {"zero", "{scale} was not at zero with nothing to stand on it"},
    {"container", "{item}: the container was not the one expected, {mass} stood there"},
    {"over", "{item}: {mass} above its band, caught in its container"},
    {"tared", "{scale} was tared at its own keys"},
    {"lost", "{scale} came back at zero where a container had stood"},
    {"filled", "{item}: the container weighed {mass}, as much as one that was filled before"},
    {"lighter", "{item}: the container was {mass} lighter than its tare, and was tared anew"},
    {"changed", "{item}: its weight changed by {mass} after it was accepted"},
    {"loaded", "{mass} lay on {scale} where it should have been empty"},
    {"drift", "{scale} showed {mass} when it was empty"},
    {"keys", "{scale} went to zero at once, as if tared or zeroed at its own keys"},
    {"factor", "{scale} jumped as if it showed another unit"},
    {"converted", "{scale} was switched to another unit, and converted"},
    {"overload", "{scale} was loaded beyond its capacity"},
    {"coarse", "{scale} was switched to a unit too coarse for its division"},
    {"garbled", "{scale} sent what could not be read"},
    {"seldom", "{scale} sent too seldom for a weight to settle"},
    {"busy", "{scale} was back, but another program held its line"},
    {"wrong-scale", "{item}: {mass} was put on {scale}, not on its own scale"},
    {"unfit", "{item}: no scale here was fit to weigh it"},
    {"limit", "{item}: above the lawful limit, not accepted"},
};

/* Names come from files and may be of any length: what has no room is cut, and buf is always ended. */
static void fill_in(const char *words, const char *scale, const char *item, const char *mass, char buf[WORDS_MAX])
{
    size_t len = 0;
    while (*words && len + 1 < WORDS_MAX) {
        const char *what = !strncmp(words, "{scale}", 7)  ? scale
                           : !strncmp(words, "{item}", 6) ? item
                           : !strncmp(words, "{mass}", 6) ? mass
                                                          : NULL;
        if (!what) {
            buf[len++] = *words++;
            continue;
        }
        words += strchr(words, '}') - words + 1;
        int n = snprintf(buf + len, WORDS_MAX - len, "%s", what);
        len += (size_t)n < WORDS_MAX - len ? (size_t)n : WORDS_MAX - len - 1;
    }
    buf[len] = '\0';
}

static void notice(const struct batch_report *b, const struct batch_event *ev, char buf[WORDS_MAX])
{
    char scale[CAP_KEY + 8], item[CAP_NAME + 20], mass[MASS_TEXT_MAX] = "something";
    snprintf(scale, sizeof scale, "scale %s", ev->scale);
    item_name(b, ev->r.item, item, sizeof item);
    if (ev->has_mass)
        look_mass(look_of(b, ev->scale, &ev->mass, 1), ev->mass, mass);
    for (size_t k = 0; k < sizeof notices / sizeof notices[0]; k++)
        if (!strcmp(notices[k].code, ev->code)) {
            fill_in(notices[k].words, scale, item, mass, buf);
            return;
        }
    snprintf(buf, WORDS_MAX, "%s %s", ev->code, *ev->scale ? scale : "");
}

static void weighing(const struct batch_report *b, const struct batch_event *ev, char buf[WORDS_MAX])
{
    const struct record *r = &ev->r;
    const mass_pg figures[] = {r->net, r->has_band ? r->low : 0, r->has_band ? r->high : 0};
    struct look look = look_of(b, ev->scale, figures, 3);
    char item[CAP_NAME + 20], net[MASS_TEXT_MAX], edge[MASS_TEXT_MAX];
    item_name(b, r->item, item, sizeof item);
    size_t n = (size_t)snprintf(buf, WORDS_MAX, "%s: %s", item, look_mass(look, r->net, net));
    if (r->verdict == VERDICT_OVER && r->has_band)
        n += (size_t)snprintf(buf + n, WORDS_MAX - n, " accepted above its band (to %s)",
                              look_mass(look, r->high, edge));
    if (r->verdict == VERDICT_UNDER && r->has_band)
        n += (size_t)snprintf(buf + n, WORDS_MAX - n, " accepted below its band (from %s)",
                              look_mass(look, r->low, edge));
    if (batch_declared(b, r->item, ev->scale))
        n += (size_t)snprintf(buf + n, WORDS_MAX - n, ", declared, not weighed");
    else if (r->manner == MANNER_TYPED)
        n += (size_t)snprintf(buf + n, WORDS_MAX - n, ", typed by hand");
    if (r->manner == MANNER_LABEL)
        n += (size_t)snprintf(buf + n, WORDS_MAX - n, ", by its label");
    if (r->disputed)
        n += (size_t)snprintf(buf + n, WORDS_MAX - n, ", though the scale marked motion");
    if (r->agreed)
        n += (size_t)snprintf(buf + n, WORDS_MAX - n, ", at rest by two agreeing lines");
    if (r->next)
        n += (size_t)snprintf(buf + n, WORDS_MAX - n, ", the rest from lot %s as item %u", r->next_lot, r->next);
    if (r->reason[0])
        snprintf(buf + n, WORDS_MAX - n, "; reason: %s", r->reason);
}

/* What lay in the same cup or tub, as far as there is room for it: each portion says for itself too that it was discarded. */
static int discarded_along(const struct batch_report *b, const struct batch_event *ev, char buf[WORDS_MAX], int n)
{
    char net[MASS_TEXT_MAX];
    for (unsigned k = 0; k < b->line_count && n < WORDS_MAX / 2; k++) {
        const struct batch_line *line = &b->lines[k];
        const mass_pg mass = line->r.net;
        if (line->discarded_us != ev->us || line->r.item == ev->r.item)
            continue;
        n += snprintf(buf + n, (size_t)(WORDS_MAX - n), ", with it %s (item %u)",
                      look_mass(look_of(b, line->scale, &mass, 1), mass, net), line->r.item);
    }
    return n;
}

static void discard(const struct batch_report *b, const struct batch_event *ev, char buf[WORDS_MAX])
{
    const struct record *r = &ev->r;
    char item[CAP_NAME + 20], net[MASS_TEXT_MAX];
    item_name(b, r->item, item, sizeof item);
    int n =
        snprintf(buf, WORDS_MAX, "%s: %s thrown away", item, look_mass(look_of(b, ev->scale, &r->net, 1), r->net, net));
    n = discarded_along(b, ev, buf, n);
    if (r->next)
        n += snprintf(buf + n, (size_t)(WORDS_MAX - n), ", weighed again as item %u", r->next);
    if (r->reason[0])
        snprintf(buf + n, (size_t)(WORDS_MAX - n), "; reason: %s", r->reason);
}

static void check(const struct batch_report *b, const struct batch_event *ev, char buf[WORDS_MAX])
{
    const struct step *step = NULL;
    char value[MASS_TEXT_MAX];
    for (unsigned k = 0; k < b->step_count; k++)
        if (b->steps[k].seq == ev->seq && b->steps[k].index != NO_STEP)
            step = &b->formula.steps[b->steps[k].index];
    int n = snprintf(buf, WORDS_MAX, "%s: %s%s", step ? step->text[0] : "a check",
                     words_check(ev->r.value_milli, step ? step->unit : "", value),
                     ev->r.verdict == VERDICT_IN ? "" : ", outside its limits");
    if (ev->r.reason[0])
        snprintf(buf + n, (size_t)(WORDS_MAX - n), "; reason: %s", ev->r.reason);
}

const char *words_event(const struct batch_report *b, const struct batch_event *ev, char buf[WORDS_MAX])
{
    const struct record *r = &ev->r;
    char who[CAP_NAME + CAP_PERSON + 4], item[CAP_NAME + 20];
    buf[0] = '\0';
    if (ev->notice) {
        notice(b, ev, buf);
        return buf;
    }
    switch ((enum record_kind)r->kind) {
    case REC_WEIGHED:
        weighing(b, ev, buf);
        break;
    case REC_DISCARDED:
        discard(b, ev, buf);
        break;
    case REC_CHECKED:
        check(b, ev, buf);
        break;
    case REC_TARED:
        item_name(b, r->item, item, sizeof item);
        snprintf(buf, WORDS_MAX, "%s: its container was said to be empty by %s", item, words_person(b, r->person, who));
        break;
    case REC_STAGED:
        item_name(b, r->item, item, sizeof item);
        snprintf(buf, WORDS_MAX, "%s: its accepted weight was said to be right by %s", item,
                 words_person(b, r->person, who));
        break;
    case REC_EMPTIED:
        snprintf(buf, WORDS_MAX, "scale %s was seen empty by %s and begun anew", ev->scale,
                 words_person(b, r->person, who));
        break;
    case REC_SIGNED_IN:
        snprintf(buf, WORDS_MAX, "%s took over", words_person(b, r->person, who));
        break;
    default:
        snprintf(buf, WORDS_MAX, "%s%s%s",
                 r->state == BATCH_RUNNING ? "gone on with" : batch_state_text((enum batch_state)r->state),
                 r->reason[0] ? "; reason: " : "", r->reason);
    }
    return buf;
}
