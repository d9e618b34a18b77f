/* The journal as the loop sees it: appends live; in a replay computes the same hash and compares it with the tape. */
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#include "station/inside.h"

/* What failed goes onto the tape too: a replay must fail at the same place. */
static enum store_result append_live(struct weigher *w, const struct entry *e, char why[STORE_WHY])
{
    char hex[2 * STORE_HASH + 1];
    enum store_result r = store_append(w->store, e, &w->head, why);
    if (r != STORE_OK) {
        tape_write(&w->tape, "f %d", (int)r);
        return r;
    }
    tape_to_hex(w->head.hash, STORE_HASH, hex);
    tape_write(&w->tape, "s %" PRId64 " %s", w->head.seq, hex);
    return STORE_OK;
}

/* The first difference ends a replay: what came after it would only be its consequence. */
static enum store_result differs(struct weigher *w, char why[STORE_WHY], const char *what)
{
    snprintf(why, STORE_WHY, "replay: capture line %u: %s", w->tape.line_number, what);
    fprintf(stderr, "tareline: %s\n", why);
    w->ended = true;
    w->exit_code = EXIT_NO;
    return STORE_BROKEN;
}

/* What could not be stored then can't be stored now, for the same reason. */
static enum store_result failed_then(const char *rest)
{
    int64_t code = 0;
    return tape_int(&rest, &code) && code < 0 ? (enum store_result)code : STORE_SYSTEM;
}

static enum store_result append_replay(struct weigher *w, struct entry *e, char why[STORE_WHY])
{
    char hex[2 * STORE_HASH + 1];
    int64_t seq = 0;
    const char *rest = tape_expect(&w->tape, "f");
    if (rest)
        return failed_then(rest);
    rest = tape_expect(&w->tape, "s");
    if (!rest || !tape_int(&rest, &seq))
        return differs(w, why, "an entry is written here that was not written then");
    e->seq = w->head.seq + 1;
    store_hash_entry(&w->head, e, e->hash);
    tape_to_hex(e->hash, STORE_HASH, hex);
    if (seq != e->seq || strcmp(rest, hex) != 0)
        return differs(w, why, "the entry's number or hash is not the one that was written then");
    w->head.seq = e->seq;
    memcpy(w->head.hash, e->hash, STORE_HASH);
    return STORE_OK;
}

enum store_result journal_append(struct weigher *w, const char *kind, const char *payload, const char *person,
                                 char why[STORE_WHY])
{
    struct entry e = {
        .utc_us = w->utc, .mono_us = w->now, .kind = kind, .batch = w->batch, .person = person, .payload = payload};
    return w->tape.reading ? append_replay(w, &e, why) : append_live(w, &e, why);
}

/* A text's entry is input to a replay, not a result: whether it was in the journal already depends on earlier batches. */
enum store_result journal_keep(struct weigher *w, struct kept_text *text, char why[STORE_WHY])
{
    char hex[2 * STORE_HASH + 1];
    const struct file_text *f = &text->file;
    if (!text->hash[0])
        return STORE_OK;
    if (w->tape.reading) {
        const char *rest = tape_expect(&w->tape, "f");
        if (rest)
            return failed_then(rest);
        rest = tape_expect(&w->tape, "k");
        if (!rest || !tape_int(&rest, &w->head.seq))
            return differs(w, why, "a file's text is kept here that was not kept then");
        if (tape_hex(rest, w->head.hash, STORE_HASH) != STORE_HASH)
            return differs(w, why, "the hash is not 64 hex digits");
        return STORE_OK;
    }
    enum store_result r = store_keep_text(w->store, w->utc, w->now, f->path, f->text, f->len, text->hash, why);
    if (r != STORE_OK) {
        tape_write(&w->tape, "f %d", (int)r);
        return r;
    }
    w->head = store_head(w->store);
    tape_to_hex(w->head.hash, STORE_HASH, hex);
    tape_write(&w->tape, "k %" PRId64 " %s", w->head.seq, hex);
    return STORE_OK;
}
