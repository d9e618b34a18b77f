/* Appending: one INSERT is one transaction, synchronous; the triggers keep the projections in step inside it. */
#include <stdlib.h>
#include <string.h>

#include "store/inside.h"

#define CLOCK_BEGINS INT64_C(1704067200000000) /* 2024-01-01T00:00:00Z */

bool store_clock_set(int64_t utc_us)
{
    return utc_us >= CLOCK_BEGINS;
}

static void bind_text(sqlite3_stmt *q, int at, const char *text)
{
    sqlite3_bind_text(q, at, text ? text : "", -1, SQLITE_STATIC);
}

/* A deleted or replaced file would take entries that nobody can ever read again. */
static bool still_in_place(struct store *s)
{
    int moved = 0;
    return sqlite3_file_control(s->db, "main", SQLITE_FCNTL_HAS_MOVED, &moved) != SQLITE_OK || !moved;
}

static int insert(struct store *s, sqlite3_stmt *q, const struct entry *e, const uint8_t hash[STORE_HASH])
{
    sqlite3_bind_int64(q, 1, s->head.seq + 1);
    sqlite3_bind_int64(q, 2, e->utc_us);
    sqlite3_bind_int64(q, 3, (int64_t)e->mono_us);
    bind_text(q, 4, e->kind);
    bind_text(q, 5, e->batch);
    bind_text(q, 6, e->person);
    bind_text(q, 7, e->payload);
    sqlite3_bind_blob(q, 8, s->head.hash, STORE_HASH, SQLITE_STATIC);
    sqlite3_bind_blob(q, 9, hash, STORE_HASH, SQLITE_STATIC);
    int rc = sqlite3_step(q);
    if (rc == SQLITE_DONE)
        return SQLITE_OK;
    return rc == SQLITE_ROW ? SQLITE_MISUSE : rc;
}

/* s->head moves only after the commit: whatever fails, and wherever the power goes, it names the newest entry on disk, and
 * the next one is hashed on top of that. */
enum store_result store_append(struct store *s, const struct entry *e, struct store_head *head, char why[STORE_WHY])
{
    int rc;
    if (s->lock < 0)
        return store_say(STORE_DENIED, why, "the journal is open for reading only");
    if (!still_in_place(s))
        return store_say(STORE_DENIED, why,
                         "the journal %s was moved or removed while in use: nothing was stored; put it back",
                         store_short_path(s->path));
    sqlite3_stmt *q = store_sql(s, SQL_INSERT, &rc);
    if (!q)
        return store_fault(s, rc, why);
    struct store_head next = {.seq = s->head.seq + 1};
    store_hash_entry(&s->head, e, next.hash);
    rc = insert(s, q, e, next.hash);
    enum store_result r = rc == SQLITE_OK ? STORE_OK : store_fault(s, rc, why);
    sqlite3_reset(q);
    sqlite3_clear_bindings(q);
    if (r == STORE_OK) {
        s->head = next;
        if (head)
            *head = next;
    } else if (!sqlite3_get_autocommit(s->db)) { /* most errors roll back by themselves, not all */
        sqlite3_exec(s->db, "ROLLBACK", NULL, NULL, NULL);
    }
    return r;
}

/* True if the text would come back from the payload byte for byte: it is UTF-8 and holds no NUL. */
static bool comes_back(struct store *s, const char *payload, const char *text, size_t len)
{
    int rc;
    sqlite3_stmt *q = store_sql(s, SQL_TEXT_CHECK, &rc);
    if (!q)
        return false;
    sqlite3_bind_text(q, 1, payload, -1, SQLITE_STATIC);
    bool same = sqlite3_step(q) == SQLITE_ROW && sqlite3_column_text(q, 0) &&
                (size_t)sqlite3_column_bytes(q, 0) == len && !memcmp(sqlite3_column_text(q, 0), text, len);
    sqlite3_reset(q);
    sqlite3_clear_bindings(q);
    return same;
}

static bool is_kept(struct store *s, const char *hash_hex, int *rc)
{
    sqlite3_stmt *q = store_sql(s, SQL_TEXT_KEPT, rc);
    if (!q)
        return false;
    sqlite3_bind_text(q, 1, hash_hex, -1, SQLITE_STATIC);
    *rc = sqlite3_step(q);
    bool kept = *rc == SQLITE_ROW;
    if (*rc == SQLITE_ROW || *rc == SQLITE_DONE)
        *rc = SQLITE_OK;
    sqlite3_reset(q);
    return kept;
}

/* The text is committed before the entry that names it. A cut between the two leaves a text that no batch names yet; the
 * next batch with that file finds it kept. */
enum store_result store_keep_text(struct store *s, int64_t utc_us, uint64_t mono_us, const char *name, const char *text,
                                  size_t len, char hash_hex[65], char why[STORE_WHY])
{
    int rc;
    store_text_hash(text, len, hash_hex);
    bool kept = is_kept(s, hash_hex, &rc);
    if (kept)
        return STORE_OK;
    sqlite3_stmt *q = rc == SQLITE_OK ? store_sql(s, SQL_TEXT_JSON, &rc) : NULL;
    if (!q)
        return store_fault(s, rc, why);
    bind_text(q, 1, name);
    sqlite3_bind_text(q, 2, hash_hex, -1, SQLITE_STATIC);
    sqlite3_bind_text64(q, 3, text, len, SQLITE_STATIC, SQLITE_UTF8);
    enum store_result r;
    struct entry e = {.utc_us = utc_us, .mono_us = mono_us, .kind = "text"};
    rc = sqlite3_step(q);
    if (rc != SQLITE_ROW || !(e.payload = (const char *)sqlite3_column_text(q, 0)))
        r = store_fault(s, rc == SQLITE_ROW ? SQLITE_NOMEM : rc, why);
    else if (!comes_back(s, e.payload, text, len))
        r = store_say(STORE_SYSTEM, why, "the text of %s is not UTF-8 without NUL bytes and can't be kept", name);
    else
        r = store_append(s, &e, NULL, why);
    sqlite3_reset(q);
    sqlite3_clear_bindings(q);
    return r;
}
