/* Verify: every hash anew, every kept text against its own hash, the guards, the projections, SQLite's own check. */
#include <string.h>

#include "store/inside.h"

struct walk {
    struct store *store;
    struct store_head head; /* of the last entry that verified */
    int64_t bad;
    char *why;
    char text_hash[65];
};

static bool wrong(struct walk *w, int64_t seq, const char *what)
{
    w->bad = seq;
    store_say(STORE_BROKEN, w->why, "entry %lld %s", (long long)seq, what);
    return true;
}

/* A kept text must be the one that its hash says. */
static bool text_is_true(struct walk *w, const char *payload)
{
    int rc;
    sqlite3_stmt *q = store_sql(w->store, SQL_TEXT_CHECK, &rc);
    if (!q)
        return false;
    sqlite3_bind_text(q, 1, payload, -1, SQLITE_STATIC);
    bool same = false;
    if (sqlite3_step(q) == SQLITE_ROW && sqlite3_column_text(q, 0) && sqlite3_column_text(q, 1)) {
        store_text_hash((const char *)sqlite3_column_text(q, 0), (size_t)sqlite3_column_bytes(q, 0), w->text_hash);
        same = !strcmp(w->text_hash, (const char *)sqlite3_column_text(q, 1));
    }
    sqlite3_reset(q);
    sqlite3_clear_bindings(q);
    return same;
}

/* Each reason by itself: a gap, a changed link and a changed entry point to different things having been done. */
static bool check_entry(void *self, const struct entry *e)
{
    struct walk *w = self;
    uint8_t hash[STORE_HASH];
    int64_t due = w->head.seq + 1;
    if (e->seq != due)
        return wrong(w, due, "is missing");
    if (memcmp(e->prev, w->head.hash, STORE_HASH) != 0)
        return wrong(w, due, "does not follow the one before it: either was changed or put in");
    store_hash_entry(&w->head, e, hash);
    if (memcmp(e->hash, hash, STORE_HASH) != 0)
        return wrong(w, due, "was changed: its hash does not fit what it says");
    if (!strcmp(e->kind, "text") && !text_is_true(w, e->payload))
        return wrong(w, due, "keeps a text that is not the one its hash names");
    w->head.seq = due;
    memcpy(w->head.hash, hash, STORE_HASH);
    return false;
}

static bool sqlite_agrees(struct store *s)
{
    sqlite3_stmt *q = NULL;
    bool ok = sqlite3_prepare_v2(s->db, "PRAGMA integrity_check(1)", -1, &q, NULL) == SQLITE_OK &&
              sqlite3_step(q) == SQLITE_ROW && sqlite3_column_text(q, 0) &&
              !strcmp((const char *)sqlite3_column_text(q, 0), "ok");
    sqlite3_finalize(q);
    return ok;
}

/* From the inside out: what guards and tables say counts only once the entries themselves are right. */
static enum store_result verify_all(struct store *s, int64_t *bad_seq, int64_t *count, char why[STORE_WHY])
{
    struct walk w = {.store = s, .why = why};
    const char *name;
    enum store_result r = store_each(s, NULL, check_entry, &w);
    *bad_seq = w.bad;
    *count = w.head.seq;
    if (w.bad)
        return STORE_BROKEN;
    if (r == STORE_BROKEN) {
        *bad_seq = w.head.seq + 1;
        return store_say(r, why, "entry %lld can't be read: the file is damaged", (long long)*bad_seq);
    }
    if (r != STORE_OK)
        return store_fault(s, sqlite3_errcode(s->db), why);
    if (!store_guards_whole(s->db, &name))
        return store_say(STORE_BROKEN, why, "the entries verify, but the guard %s is missing or was changed", name);
    if (!store_projections_agree(s->db, &name))
        return store_say(STORE_BROKEN, why,
                         "the entries verify, but the table %s is out of step; tareline records rebuild makes it anew",
                         name);
    if (!sqlite_agrees(s))
        return store_say(STORE_BROKEN, why, "the entries verify, but SQLite finds damage in the file");
    return STORE_OK;
}

/* In one read transaction: a writer may go on meanwhile. */
enum store_result store_verify(struct store *s, int64_t *bad_seq, int64_t *count, char why[STORE_WHY])
{
    *bad_seq = *count = 0;
    int rc = sqlite3_exec(s->db, "BEGIN", NULL, NULL, NULL);
    if (rc != SQLITE_OK)
        return store_fault(s, rc, why);
    enum store_result r = verify_all(s, bad_seq, count, why);
    sqlite3_exec(s->db, "COMMIT", NULL, NULL, NULL);
    return r;
}

enum store_result store_rebuild(struct store *s, char why[STORE_WHY])
{
    if (s->lock < 0)
        return store_say(STORE_DENIED, why, "the journal is open for reading only");
    int rc = sqlite3_exec(s->db, "BEGIN IMMEDIATE", NULL, NULL, NULL);
    if (rc == SQLITE_OK)
        rc = store_remake(s->db);
    if (rc == SQLITE_OK)
        rc = sqlite3_exec(s->db, "COMMIT", NULL, NULL, NULL);
    enum store_result r = rc == SQLITE_OK ? STORE_OK : store_fault(s, rc, why);
    if (!sqlite3_get_autocommit(s->db)) /* a COMMIT that fails leaves the transaction open */
        sqlite3_exec(s->db, "ROLLBACK", NULL, NULL, NULL);
    return r;
}
