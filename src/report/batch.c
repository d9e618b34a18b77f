/* Collecting: two passes over a batch's entries, the first for the texts that the second is read by. */
#include <stdlib.h>
#include <string.h>

#include "report/batch.h"

/* The keys of an entry that a record holds only as numbers, or not at all. They are taken as the journal has them: the formula
 * that gives numbers their meaning may be unreadable, the names stand in every entry. */
struct names {
    char ingredient[CAP_KEY], scale[CAP_KEY], step[CAP_KEY], code[CAP_KEY];
    uint16_t item;
    bool has_mass;
    mass_pg mass;
};

struct collector {
    struct store *store;
    struct batch_report *b;
    bool started;
};

static bool take_name(void *self, const struct payload_field *f)
{
    struct names *n = self;
    struct {
        const char *key;
        char *to;
    } const texts[] = {{"ingredient", n->ingredient}, {"scale", n->scale}, {"step", n->step}, {"code", n->code}};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        if (f->type == PAYLOAD_TEXT && !strcmp(f->key, texts[i].key))
            snprintf(texts[i].to, CAP_KEY, "%s", f->text);
    if (f->type == PAYLOAD_INT && !strcmp(f->key, "item") && f->number > 0 && f->number <= UINT16_MAX)
        n->item = (uint16_t)f->number;
    if (f->type == PAYLOAD_INT && !strcmp(f->key, "mass_pg")) {
        n->has_mass = true;
        n->mass = f->number;
    }
    return false;
}

static uint8_t ingredient_index(const struct batch_report *b, const char *key)
{
    for (uint8_t k = 0; k < b->formula.ingredient_count; k++)
        if (!strcmp(b->formula.ingredients[k].key, key))
            return k;
    return NO_INGREDIENT;
}

static uint8_t step_index(const struct batch_report *b, const char *key)
{
    for (uint8_t k = 0; k < b->formula.step_count; k++)
        if (!strcmp(b->formula.steps[k].key, key))
            return k;
    return NO_STEP;
}

static struct batch_line *line_of(struct batch_report *b, uint16_t item)
{
    for (unsigned k = 0; k < b->line_count; k++)
        if (b->lines[k].r.item == item)
            return &b->lines[k];
    return NULL;
}

const struct batch_line *batch_line_of(const struct batch_report *b, uint16_t item)
{
    return line_of((struct batch_report *)b, item);
}

static void meet_person(struct batch_report *b, const char *code)
{
    for (unsigned k = 0; k < b->person_count; k++)
        if (!strcmp(b->persons[k], code))
            return;
    if (*code && b->person_count < BATCH_PERSONS)
        snprintf(b->persons[b->person_count++], CAP_PERSON, "%s", code);
}

static void weighed(struct batch_report *b, const struct entry *e, const struct record *r, const struct names *n)
{
    if (b->line_count == BATCH_LINES)
        return; /* more items than a batch can have: core refuses them */
    struct batch_line *line = &b->lines[b->line_count++];
    line->r = *r;
    line->seq = e->seq;
    line->weighed_us = e->utc_us;
    line->index = ingredient_index(b, n->ingredient);
    memcpy(line->ingredient, n->ingredient, sizeof line->ingredient);
    memcpy(line->scale, n->scale, sizeof line->scale);
}

/* An addition takes what is weighed of its ingredients and not yet in the mixer: core's apply_added. */
static void added(struct batch_report *b, const struct entry *e, uint8_t step)
{
    for (unsigned k = 0; k < b->line_count; k++) {
        struct batch_line *line = &b->lines[k];
        if (line->index == NO_INGREDIENT || line->added_us || line->discarded_us ||
            b->formula.ingredients[line->index].add_step != step)
            continue;
        line->added_us = e->utc_us;
        snprintf(line->added_by, CAP_PERSON, "%s", e->person);
    }
}

static void throw_away(struct batch_line *line, const struct entry *e)
{
    line->discarded_us = e->utc_us;
    snprintf(line->discarded_by, CAP_PERSON, "%s", e->person);
}

static enum weigh_way way_of(const struct batch_report *b, uint16_t item)
{
    uint8_t index = item <= CAP_ITEMS ? b->of_item[item] : NO_INGREDIENT;
    return index == NO_INGREDIENT ? WAY_CUP : (enum weigh_way)b->formula.ingredients[index].way;
}

/* A tub goes with all that lies in it. */
static void discarded_tub(struct batch_report *b, const struct entry *e)
{
    for (unsigned k = 0; k < b->line_count; k++) {
        struct batch_line *line = &b->lines[k];
        bool in_tub = line->index != NO_INGREDIENT && !b->formula.ingredients[line->index].meat &&
                      b->formula.ingredients[line->index].way == WAY_TUB;
        if (in_tub && !line->added_us && !line->discarded_us)
            throw_away(line, e);
    }
}

/* A cup goes with all the portions in it: those of a second lot lie on those before them. The rules are core's
 * apply_discarded; a test walks both at random and compares. */
static void discarded(struct batch_report *b, const struct entry *e, uint16_t item)
{
    bool alone = way_of(b, item) == WAY_BAG;
    if (way_of(b, item) == WAY_TUB) {
        discarded_tub(b, e);
        return;
    }
    for (unsigned k = b->line_count; k-- > 0 && !alone;)
        if (b->lines[k].r.next == item)
            item = b->lines[k].r.item; /* weighed before, so further up */
    for (struct batch_line *line = line_of(b, item); line;) {
        uint16_t above = alone || line->r.next <= line->r.item ? 0 : line->r.next; /* ids only grow */
        if (!line->discarded_us)
            throw_away(line, e);
        line = above ? line_of(b, above) : NULL;
    }
}

static void stepped(struct batch_report *b, const struct entry *e, const struct record *r, uint8_t index)
{
    if (r->kind == REC_ADDED)
        added(b, e, index);
    if (b->step_count < BATCH_STEPS)
        b->steps[b->step_count++] = (struct batch_step){.r = *r, .index = index, .seq = e->seq, .us = e->utc_us};
}

static void happened(struct batch_report *b, const struct entry *e, const struct record *r, const struct names *n)
{
    if (b->event_count == BATCH_EVENTS) {
        b->events_left_out++;
        return;
    }
    struct batch_event *ev = &b->events[b->event_count++];
    *ev = (struct batch_event){.seq = e->seq, .us = e->utc_us, .notice = !r, .has_mass = n->has_mass, .mass = n->mass};
    memcpy(ev->code, n->code, sizeof ev->code);
    memcpy(ev->scale, n->scale, sizeof ev->scale);
    if (r)
        ev->r = *r;
    else
        ev->r.item = n->item;
    snprintf(ev->r.person, CAP_PERSON, "%s", e->person);
}

/* Held is not ended: a named person will decide. */
static void changed_state(struct batch_report *b, const struct entry *e, const struct record *r, const struct names *n)
{
    b->state = r->state;
    bool closed = r->state >= BATCH_COMPLETE;
    b->ended_us = closed ? e->utc_us : 0;
    if (r->state != BATCH_COMPLETE)
        happened(b, e, r, n);
}

/* What an inspector would ask about: all that did not go by the plan. */
static bool worth_telling(const struct record *r)
{
    switch ((enum record_kind)r->kind) {
    case REC_WEIGHED:
        return r->verdict != VERDICT_IN || r->reason[0] || r->manner != MANNER_LIVE || r->disputed || r->next;
    case REC_CHECKED:
        return r->verdict != VERDICT_IN || r->reason[0];
    case REC_TARED:
    case REC_STAGED:
        return r->asked;
    case REC_SIGNED_IN:
    case REC_DISCARDED:
    case REC_EMPTIED:
        return true;
    default:
        return false;
    }
}

static void take_record(struct collector *c, const struct entry *e, const struct record *r, const struct names *n)
{
    struct batch_report *b = c->b;
    if (worth_telling(r))
        happened(b, e, r, n);
    switch ((enum record_kind)r->kind) {
    case REC_STARTED:
        b->started_us = e->utc_us;
        b->basis = r->basis;
        b->basis_mass = r->net;
        b->state = BATCH_RUNNING;
        break;
    case REC_BASIS:
        b->basis_mass = r->net;
        b->has_basis = true;
        break;
    case REC_WEIGHED:
        weighed(b, e, r, n);
        break;
    case REC_DISCARDED:
        discarded(b, e, r->item);
        break;
    case REC_ADDED:
    case REC_INSTRUCTED:
    case REC_CHECKED:
        stepped(b, e, r, step_index(b, n->step));
        break;
    case REC_STATE:
        changed_state(b, e, r, n);
        break;
    default:
        break;
    }
}

/* A kind of a later version is passed over; a known one that can't be read is counted, since a verdict may lie in it. */
static bool take_entry(void *self, const struct entry *e)
{
    struct collector *c = self;
    struct record r;
    struct names n = {0};
    enum store_result read = payload_read(c->store, e, NULL, &r, NULL);
    (void)payload_each(c->store, e->payload, take_name, &n);
    if (!c->b->first_seq)
        c->b->first_seq = e->seq;
    c->b->last_seq = e->seq;
    memcpy(c->b->last_hash, e->hash, STORE_HASH);
    meet_person(c->b, e->person);
    if (n.item && n.item <= CAP_ITEMS && n.ingredient[0])
        c->b->of_item[n.item] = ingredient_index(c->b, n.ingredient);
    if (read == STORE_OK) {
        meet_person(c->b, r.second);
        take_record(c, e, &r, &n);
    } else if (read == STORE_NONE && (!strcmp(e->kind, "notice") || !strcmp(e->kind, "refused"))) {
        happened(c->b, e, NULL, &n);
    } else if (read != STORE_NONE) {
        c->b->unreadable++;
    }
    return false;
}

/* Of a batch's entries the first: a true return ends the walk. */
static bool take_texts(void *self, const struct entry *e)
{
    struct collector *c = self;
    struct record r;
    c->started = !strcmp(e->kind, record_kind_text(REC_STARTED)) &&
                 payload_read(c->store, e, NULL, &r, &c->b->texts) == STORE_OK;
    return c->started;
}

struct reading_room { /* what reading a text needs, too large for the stack */
    struct file_text text;
    struct faults faults;
};

static bool kept(struct store *s, const char *hash, const char *path, struct reading_room *room)
{
    if (!*hash)
        return false;
    memset(&room->faults, 0, sizeof room->faults);
    snprintf(room->text.path, sizeof room->text.path, "%s", path);
    int64_t len = store_text(s, hash, room->text.text, sizeof room->text.text);
    room->text.len = len > 0 ? (size_t)len : 0;
    return len >= 0;
}

/* What a text says is only of use where it is there and whole; the weights stand without it. */
static void read_texts(struct store *s, struct batch_report *b, struct reading_room *room)
{
    b->has_formula =
        kept(s, b->texts.formula, "formula", room) && formula_read(&room->text, &b->formula, &room->faults);
    if (!b->has_formula)
        memset(&b->formula, 0, sizeof b->formula);
    if (kept(s, b->texts.station, "station", room)) /* name, jurisdiction, scales: as far as they can be read */
        (void)station_read(&room->text, &b->station, &room->faults);
    if (!kept(s, b->texts.people, "people", room) || !people_read(&room->text, &b->people, &room->faults))
        memset(&b->people, 0, sizeof b->people);
    b->has_limits = b->has_formula && b->station.jurisdiction[0] && kept(s, b->texts.limits, "limits", room) &&
                    limits_read(&room->text, b->station.jurisdiction, &b->formula, b->limits, &room->faults);
    if (!b->has_limits)
        memset(b->limits, 0, sizeof b->limits);
    for (uint8_t k = 0; k < b->formula.lang_count; k++)
        if (!strcmp(b->formula.lang[k], b->station.language))
            b->lang = k;
}

static enum store_result collect(struct store *s, const char *batch, struct batch_report *b, struct reading_room *room)
{
    struct collector c = {.store = s, .b = b};
    snprintf(b->id, sizeof b->id, "%s", batch);
    enum store_result r = store_each(s, batch, take_texts, &c);
    if (r != STORE_OK || !c.started)
        return r == STORE_OK ? STORE_NONE : r;
    read_texts(s, b, room);
    return batch_collect(s, b);
}

enum store_result batch_collect(struct store *s, struct batch_report *b)
{
    struct collector c = {.store = s, .b = b};
    memset(b->of_item, NO_INGREDIENT, sizeof b->of_item);
    enum store_result r = store_each(s, b->id, take_entry, &c);
    if (r == STORE_OK)
        batch_add_up(b);
    return r;
}

enum store_result batch_load(struct store *s, const char *batch, struct batch_report **out)
{
    struct batch_report *b = calloc(1, sizeof *b);
    struct reading_room *room = calloc(1, sizeof *room);
    enum store_result r = b && room ? collect(s, batch, b, room) : STORE_SYSTEM;
    free(room);
    if (r != STORE_OK) {
        free(b);
        b = NULL;
    }
    *out = b;
    return r;
}

bool batch_declared(const struct batch_report *b, uint16_t item, const char *scale)
{
    uint8_t index = item <= CAP_ITEMS ? b->of_item[item] : NO_INGREDIENT;
    return b->basis == BASIS_DECLARED && !*scale && index != NO_INGREDIENT && b->formula.ingredients[index].meat;
}

const char *batch_ingredient_name(const struct batch_report *b, uint8_t index)
{
    const struct ingredient *in = &b->formula.ingredients[index];
    return in->name[b->lang][0] ? in->name[b->lang] : in->name[0][0] ? in->name[0] : in->key;
}

const char *batch_line_name(const struct batch_report *b, const struct batch_line *line)
{
    return line->index == NO_INGREDIENT ? line->ingredient : batch_ingredient_name(b, line->index);
}

const char *batch_person_name(const struct batch_report *b, const char *code)
{
    const struct people_entry *p = *code ? people_find(&b->people, code) : NULL;
    return p ? p->name : NULL;
}
