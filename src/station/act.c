/* One event into the sequence, and all that follows: commits, words, the next prompt. */
#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>

#include "core/json.h"
#include "screen/names.h"
#include "station/inside.h"

/* The names and units that the words need. */
static void dress(struct weigher *w, struct say *what)
{
    what->batch = w->batch;
    what->setup = &w->setup;
    what->lang = w->lang;
    what->work = w->seq.items;
    what->held = w->seq.state == BATCH_HELD;
    uint8_t scale = say_scale(what);
    if (scale == NO_SCALE && what->item)
        scale = what->item->scale;
    if (scale < w->setup.scale_count)
        unit_of(w, scale, &what->unit, &what->places);
}

/* Nobody can be told any more what is asked: the batch pauses. Where a log fills its disk, this is the only word of it. */
static void nobody_reads(struct weigher *w, int error)
{
    if (!w->reader_gone)
        fprintf(stderr, "tareline: standard output can't be written (%s)%s\n",
                error == EAGAIN ? "nobody reads it" : strerror(error),
                w->args->replay ? "" : ": the batch is paused; see to it, then give the same command again");
    w->reader_gone = true;
}

void say(struct weigher *w, struct say *what)
{
    what->n = ++w->lines;
    what->at = w->now;
    dress(w, what);
    if (!screen_say(&w->screen, what))
        nobody_reads(w, errno);
}

/* The newest trouble stands on the full screen until the next prompt but one, a refusal no longer than to the next answer. */
static void note_on_screen(struct weigher *w, struct say *what, uint8_t weight)
{
    dress(w, what);
    (void)say_sentence(what, w->notice, sizeof w->notice);
    w->notice_weight = weight;
    w->notice_prompt = w->seq.prompt.id;
    w->notice_refusal = what->kind == SAY_REFUSED;
    w->notice_load = !w->notice_refusal && (what->effect->code == NOTICE_ZERO || what->effect->code == NOTICE_LOADED);
}

static void say_prompt(struct weigher *w)
{
    const struct prompt *p = &w->seq.prompt;
    const struct item *it = sequence_item(&w->seq, p->item);
    uint16_t items[CAP_ITEMS];
    struct say what = {.kind = SAY_PROMPT, .prompt = p, .item = it, .items = items};
    if (it && it->ingredient == NO_INGREDIENT && it->kind >= ITEM_ADD)
        what.step = &w->formula.steps[it->step];
    if (asks_item(p) && it)
        what.item_count = items_asked(w, it, items);
    what.cues = p->scale < w->setup.scale_count && p->has_band && flow_tells(&w->scale_setups[p->scale].flow);
    if (w->screen.kind == SCREEN_PLAIN) { /* the full screen has them from the view */
        choices_make(w);
        what.choices = w->view.choices;
        what.choice_count = w->view.choice_count;
    }
    say(w, &what);
    w->prompt_n = what.n;
    w->prompt_wake = w->wake;
    if (p->id > w->notice_prompt + 1 || (w->notice_load && p->ask != ASK_CLEAR))
        w->notice_weight = 0;
}

static void say_stored(struct weigher *w, const struct record *r)
{
    const struct item *it = sequence_item(&w->seq, r->item);
    struct say what = {
        .kind = r->kind == REC_WEIGHED ? SAY_RECORDED : SAY_NOTED, .record = r, .item = it, .seq = w->head.seq};
    what.prompt = &w->seq.prompt; /* still the one that was answered */
    if (w->notice_refusal)
        w->notice_weight = 0;
    if (it && it->ingredient == NO_INGREDIENT && it->kind >= ITEM_ADD)
        what.step = &w->formula.steps[it->step];
    switch ((enum record_kind)r->kind) {
    case REC_STARTED:
    case REC_LOT:
    case REC_TARED:
    case REC_STAGED:
        if (r->asked)
            break; /* a person's yes */
        return;    /* in the journal, but not words of the protocol */
    case REC_UNTARED:
        return;
    case REC_STATE:
        if (w->seq.phase != PHASE_RESUME || r->state != BATCH_RUNNING)
            return; /* said as `state` */
        break;
    default:
        break;
    }
    say(w, &what);
}

/* What happened on the way belongs to the batch's record, but nothing depends on it: one that can't be stored is let go, and
 * the next record tells of the disk. NOTICE_STORE itself is exactly such a one. */
static void journal_notice(struct weigher *w, const struct effect *fx)
{
    char text[256], why[STORE_WHY];
    struct json j;
    if (!w->seq.started || fx->code == NOTICE_STORE)
        return;
    json_begin(&j, text, sizeof text);
    json_open(&j, '{');
    json_put_string(&j, "code", notice_text((enum notice_code)fx->code));
    json_put_string(&j, "scale", fx->scale < w->setup.scale_count ? w->scale_setups[fx->scale].name : NULL);
    if (fx->item)
        json_put_int(&j, "item", fx->item);
    if (fx->mass)
        json_put_int(&j, "mass_pg", fx->mass);
    json_close(&j, '}');
    if (json_finish(&j) && !w->ended)
        (void)journal_append(w, "notice", text, w->seq.person.code, why);
}

static void say_notice(struct weigher *w, const struct effect *fx, const char *why)
{
    struct say what = {.kind = SAY_NOTICE, .effect = fx, .item = sequence_item(&w->seq, fx->item), .why = why};
    bool driver = fx->code == NOTICE_UNPLUGGED || fx->code == NOTICE_BUSY || fx->code == NOTICE_UNUSABLE;
    if (!why && driver && fx->scale < w->setup.scale_count && !w->tape.reading)
        what.why = w->feeders[fx->scale].why;
    if (fx->code != NOTICE_OVER) { /* the over prompt itself says it; the journal keeps it */
        say(w, &what);
        note_on_screen(w, &what, fx->code == NOTICE_BACK ? 1 : 2);
    }
    journal_notice(w, fx);
}

/* room: as answer_room. */
static void say_refused(struct weigher *w, enum refusal_code code, uint32_t to, unsigned room)
{
    struct effect fx = {.kind = FX_REFUSED, .code = (uint8_t)code, .scale = NO_SCALE, .ingredient = NO_INGREDIENT};
    struct say what = {.kind = SAY_REFUSED, .effect = &fx, .to = to, .prompt = &w->seq.prompt, .room = room};
    char words[128];
    what.item = sequence_item(&w->seq, w->seq.prompt.item);
    if (code == REFUSED_VALUE && w->seq.prompt.ask == ASK_LOT && w->station.lot_pattern[0]) {
        snprintf(words, sizeof words, "Here a lot looks like %s: A is any letter, 9 any digit.",
                 w->station.lot_pattern);
        what.why = words;
    }
    say(w, &what);
    note_on_screen(w, &what, 2);
}

static void say_end(struct weigher *w, int code)
{
    struct effect fx = {.kind = FX_END, .code = (uint8_t)code};
    struct say what = {.kind = SAY_END, .effect = &fx};
    say(w, &what);
    w->ended = true;
    w->exit_code = code;
}

/* A batch that was held or ended early is not followed by the next one. */
static void next_batch_or_end(struct weigher *w, int code)
{
    if (code != EXIT_DONE || w->batches_left <= 1) {
        say_end(w, code);
        return;
    }
    w->batches_left--;
    load_new_batch(w);
    act_begin(w);
}

static void add_flow(const struct weigher *w, struct say *what)
{
    struct flow_view f = sequence_flow(&w->seq, w->now);
    what->has_flow = f.known;
    what->cue = f.cue;
    what->flow = f.per_second;
    what->flow_error = f.uncertainty;
    what->lands = f.lands;
}

/* The full screen has it from the view, JSON in its readings. */
static void say_cue(struct weigher *w, const struct effect *fx)
{
    struct say what = {.kind = SAY_CUE, .effect = fx, .item = sequence_item(&w->seq, fx->item), .scale = fx->scale};
    if (w->screen.kind != SCREEN_PLAIN || fx->code == CUE_NONE)
        return;
    add_flow(w, &what);
    what.cue = fx->code;
    say(w, &what);
}

/* Everything but FX_RECORD and FX_END, which the caller sees to last. */
static void show(struct weigher *w, const struct effect *fx)
{
    struct say what = {.kind = SAY_STATE, .effect = fx};
    switch ((enum effect_kind)fx->kind) {
    case FX_PROMPT:
        say_prompt(w);
        break;
    case FX_NOTICE:
        say_notice(w, fx, NULL);
        break;
    case FX_REFUSED:
        say_refused(w, (enum refusal_code)fx->code, w->prompt_n, 0); /* before any that the same step opened */
        break;
    case FX_STATE:
        say(w, &what);
        break;
    case FX_CUE:
        say_cue(w, fx);
        break;
    case FX_SOUND:
        screen_sound(&w->screen, (enum sound)fx->code);
        break;
    default:
        break;
    }
}

/* Before the entry that names them: a power cut in between leaves texts that no batch names, never a batch that has lost its
 * texts. */
static enum store_result keep_texts(struct weigher *w, char why[STORE_WHY])
{
    struct kept_text *texts[] = {&w->formula_text, &w->station_text, &w->limits_text, &w->people_text};
    for (unsigned k = 0; k < sizeof texts / sizeof texts[0]; k++) {
        enum store_result r = journal_keep(w, texts[k], why);
        if (r != STORE_OK)
            return r;
    }
    return STORE_OK;
}

/* The texts go before the entry that names them: it must never name one that is not there. */
static enum store_result commit(struct weigher *w, const struct record *r, char why[STORE_WHY])
{
    struct batch_texts texts;
    bool first = r->kind == REC_STARTED;
    if (first) {
        memset(&texts, 0, sizeof texts);
        enum store_result kept = keep_texts(w, why);
        if (kept != STORE_OK)
            return kept;
        memcpy(texts.formula, w->formula_text.hash, sizeof texts.formula);
        memcpy(texts.station, w->station_text.hash, sizeof texts.station);
        memcpy(texts.limits, w->limits_text.hash, sizeof texts.limits);
        memcpy(texts.people, w->people_text.hash, sizeof texts.people);
        memcpy(texts.formula_name, w->formula.name[0], sizeof texts.formula_name);
        memcpy(texts.formula_id, w->formula.id, sizeof texts.formula_id);
        if (w->args->batches > 1) {
            texts.number = (uint16_t)(w->args->batches - w->batches_left + 1);
            texts.batches = (uint16_t)w->args->batches;
        }
    }
    if (!payload_write(r, &w->setup, first ? &texts : NULL, w->payload, sizeof w->payload)) {
        snprintf(why, STORE_WHY, "the entry is too long for the journal");
        return STORE_SYSTEM;
    }
    return journal_append(w, record_kind_text((enum record_kind)r->kind), w->payload, r->person, why);
}

/* The effects of one step; true: a record is proposed. */
static bool show_all(struct weigher *w, const struct effects *fx, int *end)
{
    bool proposed = false;
    for (uint8_t k = 0; k < fx->count; k++) {
        if (fx->list[k].kind == FX_RECORD)
            proposed = true;
        else if (fx->list[k].kind == FX_END)
            *end = fx->list[k].code;
        else
            show(w, &fx->list[k]);
    }
    return proposed;
}

/* Until nothing is proposed any more: a record that is stored may bring the next one (a lot, then its prompt ...). Each is
 * said only when it is on disk, and with the prompt that it answers still open. */
static void settle_effects(struct weigher *w, struct effects *fx)
{
    char why[STORE_WHY] = "";
    int end = -1;
    while (show_all(w, fx, &end) && !w->ended) {
        struct event answer = {.kind = EV_STORED, .at = w->now};
        const struct record *r = &w->seq.pending; /* until the step below */
        if (commit(w, r, why) == STORE_OK) {
            say_stored(w, r);
        } else {
            struct effect failed = {.kind = FX_NOTICE, .code = NOTICE_STORE, .scale = NO_SCALE};
            say_notice(w, &failed, why);
            answer.kind = EV_STORE_FAILED;
        }
        sequence_step(&w->seq, &answer, fx);
    }
    if (end >= 0 && !w->ended)
        next_batch_or_end(w, end);
}

/* A yes that waited is refused by what happens to the scale. That is the news, and stands on the screen if it comes last. */
static void refusals_first(struct effects *fx)
{
    uint8_t first = 0;
    for (uint8_t k = 0; k < fx->count; k++) {
        struct effect e = fx->list[k];
        if (e.kind != FX_REFUSED)
            continue;
        memmove(&fx->list[first + 1], &fx->list[first], (size_t)(k - first) * sizeof e);
        fx->list[first++] = e;
    }
}

void act(struct weigher *w, const struct event *ev)
{
    struct effects fx;
    if (w->ended)
        return;
    sequence_step(&w->seq, ev, &fx);
    if (ev->kind != EV_ANSWER)
        refusals_first(&fx);
    settle_effects(w, &fx);
}

/* One person has one name in the record, whether initials, number or a badge was read. */
static bool known_person(const struct weigher *w, const char *code, struct person *who)
{
    const struct people_entry *p = w->setup.people ? people_find(&w->people, code) : NULL;
    memset(who, 0, sizeof *who);
    if (!p)
        return false;
    snprintf(who->code, sizeof who->code, "%s", p->initials[0] ? p->initials : p->number);
    who->rights = p->rights;
    return true;
}

void act_begin(struct weigher *w)
{
    struct effects fx;
    struct person who = {.code = "unnamed"};
    bool known = !w->setup.people;
    if (w->args->person && w->setup.people)
        known = known_person(w, w->args->person, &who);
    struct say hello = {
        .kind = SAY_HELLO, .resumed = w->seq.started, .last_batch = w->last_batch, .last_state = w->last_state};
    say(w, &hello);
    sequence_begin(&w->seq, known ? &who : NULL, w->now, &fx);
    settle_effects(w, &fx);
}

void act_reading(struct weigher *w, uint8_t scale, const struct reading *r)
{
    struct event ev = {.kind = EV_READING, .scale = scale, .at = w->now, .reading = *r};
    act(w, &ev);
    if (!w->args->readings || w->ended)
        return;
    struct say what = {.kind = SAY_READING, .scale = scale, .has_weight = reading_has_weight(r), .gross = r->mass};
    mass_pg gross;
    what.settled = (uint8_t)sequence_scale(&w->seq, scale, w->now, &gross);
    const struct item *it = sequence_item(&w->seq, w->seq.current);
    what.has_net = it && it->scale == scale && sequence_net(&w->seq, w->now, &what.net);
    what.rests = what.has_net && sequence_rests(&w->seq, w->now);
    if (what.has_net)
        add_flow(w, &what);
    say(w, &what);
}

void act_link(struct weigher *w, uint8_t scale, enum link_state link)
{
    struct event ev = {.kind = EV_LINK, .scale = scale, .link = (uint8_t)link, .at = w->now};
    act(w, &ev);
}

/* Noise only where nothing of a read was good: a line that is cut now and then is not a dead one. */
void act_bytes(struct weigher *w, uint8_t scale, struct feeder_bytes *bytes)
{
    struct feeder_line *line = &w->feeders[scale].line;
    struct reading r;
    enum decode_result got;
    bool read = false, bad = false;
    while ((got = feeder_take(line, bytes, &r)) != DECODE_MORE) {
        if (got == DECODE_READING)
            act_reading(w, scale, &r);
        read = read || got == DECODE_READING;
        bad = bad || got != DECODE_READING;
    }
    if (!read && (bad || (bytes->len > 0 && line->decoder.dropping)))
        act_link(w, scale, LINK_NOISE);
}

/* What the sequence can't know: lots must look like the plant's lots, and a person must be one of the people file, who then
 * stands in the answer with code and rights. REFUSED_COUNT: nothing speaks against it. */
static enum refusal_code resolve(const struct weigher *w, struct answer *a)
{
    if (a->word == ANSWER_LOT && !lot_fits(w->station.lot_pattern, a->text))
        return REFUSED_VALUE;
    if (a->word == ANSWER_LOT)
        lot_spell(w->station.lot_pattern, a->text);
    if (!a->who.code[0] || !w->setup.people)
        return REFUSED_COUNT;
    char code[CAP_PERSON];
    memcpy(code, a->who.code, sizeof code);
    if (!known_person(w, code, &a->who))
        return REFUSED_PERSON;
    return REFUSED_COUNT;
}

void act_line(struct weigher *w, const char *line)
{
    struct event ev = {.kind = EV_ANSWER, .at = w->now};
    uint32_t at = 0;
    tape_write(&w->tape, "a %s", line);
    enum refusal_code no = answer_parse(line, &ev.answer, &at);
    if (no == REFUSED_COUNT && at && at != w->prompt_n)
        no = REFUSED_CLOSED;
    if (no == REFUSED_COUNT && !at && w->prompt_wake == w->wake)
        no = REFUSED_EARLY; /* it was there before the prompt was: meant for another one */
    if (no == REFUSED_COUNT)
        no = resolve(w, &ev.answer);
    if (no != REFUSED_COUNT) {
        say_refused(w, no, at ? at : w->prompt_n, no == REFUSED_VALUE ? answer_room(line) : 0);
        return;
    }
    ev.answer.prompt = w->seq.prompt.id;
    if (w->notice_refusal) /* it told of the answer before; if this one is refused too, that is said now */
        w->notice_weight = 0;
    act(w, &ev);
}

void act_tick(struct weigher *w)
{
    struct event ev = {.kind = EV_TICK, .at = w->now};
    act(w, &ev);
}

/* The reader or the operator's terminal has gone, or the system asks us to stop: a running batch is left paused. */
void act_leave(struct weigher *w)
{
    if (w->ended)
        return;
    struct event ev = {.kind = EV_ANSWER, .at = w->now};
    ev.answer.prompt = w->seq.prompt.id;
    ev.answer.word = ANSWER_PAUSE;
    struct effect stands = {.kind = FX_STATE, .code = w->seq.state};
    if (w->seq.state == BATCH_RUNNING || w->seq.state == BATCH_IDLE)
        act(w, &ev);
    else
        show(w, &stands); /* paused or held already */
    if (!w->ended)
        say_end(w, EXIT_NO);
}
