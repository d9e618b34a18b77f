/* Reading the journal: its head, its batches, its entries, its kept texts. */
#include <stdio.h>
#include <string.h>

#include "store/inside.h"

bool store_row(sqlite3_stmt *row, struct entry *e)
{
    if (sqlite3_column_bytes(row, 7) != STORE_HASH || sqlite3_column_bytes(row, 8) != STORE_HASH)
        return false;
    e->seq = sqlite3_column_int64(row, 0);
    e->utc_us = sqlite3_column_int64(row, 1);
    e->mono_us = (uint64_t)sqlite3_column_int64(row, 2);
    e->kind = (const char *)sqlite3_column_text(row, 3);
    e->batch = (const char *)sqlite3_column_text(row, 4);
    e->person = (const char *)sqlite3_column_text(row, 5);
    e->payload = (const char *)sqlite3_column_text(row, 6);
    memcpy(e->prev, sqlite3_column_blob(row, 7), STORE_HASH);
    memcpy(e->hash, sqlite3_column_blob(row, 8), STORE_HASH);
    return e->kind && e->batch && e->person && e->payload;
}

/* The newest entry's own hash must be right: a journal that is wrong there is not added to. */
static bool take_head(struct store *s, sqlite3_stmt *row)
{
    struct entry e;
    uint8_t hash[STORE_HASH];
    s->head.seq = sqlite3_column_int64(row, 0); /* before anything can fail: the sentence about it names it */
    if (!store_row(row, &e))
        return false;
    struct store_head before = {.seq = e.seq - 1};
    memcpy(before.hash, e.prev, STORE_HASH);
    memcpy(s->head.hash, e.hash, STORE_HASH);
    store_hash_entry(&before, &e, hash);
    return !memcmp(hash, e.hash, STORE_HASH);
}

int store_read_head(struct store *s, bool *sound)
{
    int rc;
    sqlite3_stmt *q = store_sql(s, SQL_HEAD, &rc);
    if (!q)
        return rc;
    s->head = (struct store_head){0};
    *sound = true;
    rc = sqlite3_step(q);
    if (rc == SQLITE_ROW)
        *sound = take_head(s, q);
    if (rc == SQLITE_ROW || rc == SQLITE_DONE)
        rc = SQLITE_OK;
    sqlite3_reset(q);
    return rc;
}

struct store_head store_head(const struct store *s)
{
    return s->head;
}

/* One row of two short texts at most; both "" if there is none. */
static enum store_result short_row(struct store *s, enum statement which, char *first, size_t first_cap, char *second,
                                   size_t second_cap)
{
    int rc;
    *first = '\0';
    if (second)
        *second = '\0';
    sqlite3_stmt *q = store_sql(s, which, &rc);
    if (!q)
        return store_fault(s, rc, NULL);
    rc = sqlite3_step(q);
    if (rc == SQLITE_ROW) {
        snprintf(first, first_cap, "%s", (const char *)sqlite3_column_text(q, 0));
        if (second)
            snprintf(second, second_cap, "%s", (const char *)sqlite3_column_text(q, 1));
    }
    enum store_result r = rc == SQLITE_ROW || rc == SQLITE_DONE ? STORE_OK : store_fault(s, rc, NULL);
    sqlite3_reset(q);
    return r;
}

/* A list that can't be read is an empty one: a lot can always be typed. */
int store_recent_lots(struct store *s, const char *ingredient, char lots[][STORE_LOT], int max)
{
    int rc, n = 0;
    sqlite3_stmt *q = store_sql(s, SQL_RECENT_LOTS, &rc);
    if (!q)
        return 0;
    sqlite3_bind_text(q, 1, ingredient, -1, SQLITE_STATIC);
    sqlite3_bind_int(q, 2, max);
    while (n < max && sqlite3_step(q) == SQLITE_ROW)
        if (sqlite3_column_text(q, 0))
            snprintf(lots[n++], STORE_LOT, "%s", (const char *)sqlite3_column_text(q, 0));
    sqlite3_reset(q);
    sqlite3_clear_bindings(q);
    return n;
}

enum store_result store_open_batch(struct store *s, char batch[STORE_BATCH])
{
    return short_row(s, SQL_BATCH_OPEN, batch, STORE_BATCH, NULL, 0);
}

enum store_result store_last_closed(struct store *s, char batch[STORE_BATCH], char state[16])
{
    return short_row(s, SQL_BATCH_CLOSED, batch, STORE_BATCH, state, 16);
}

enum store_result store_batches(struct store *s, bool (*each)(void *self, const struct store_batch *b), void *self)
{
    static const char sql[] = "SELECT b.batch,b.state,f.person,b.first_seq,b.last_seq,f.utc_us,l.utc_us,f.payload"
                              " FROM batches b JOIN journal f ON f.seq=b.first_seq JOIN journal l ON l.seq=b.last_seq"
                              " ORDER BY b.first_seq";
    sqlite3_stmt *q = NULL;
    int rc = sqlite3_prepare_v2(s->db, sql, -1, &q, NULL);
    bool stop = rc != SQLITE_OK;
    while (!stop && (rc = sqlite3_step(q)) == SQLITE_ROW) {
        struct store_batch b = {.batch = (const char *)sqlite3_column_text(q, 0),
                                .state = (const char *)sqlite3_column_text(q, 1),
                                .person = (const char *)sqlite3_column_text(q, 2),
                                .first_seq = sqlite3_column_int64(q, 3),
                                .last_seq = sqlite3_column_int64(q, 4),
                                .started_us = sqlite3_column_int64(q, 5),
                                .newest_us = sqlite3_column_int64(q, 6),
                                .payload = (const char *)sqlite3_column_text(q, 7)};
        stop = !b.batch || !b.state || !b.person || !b.payload || each(self, &b);
    }
    sqlite3_finalize(q);
    if (rc == SQLITE_DONE || rc == SQLITE_ROW)
        return STORE_OK;
    return rc == SQLITE_ERROR ? STORE_BROKEN : store_fault(s, rc, NULL); /* ERROR: a table that isn't there */
}

/* Its own statement, so that the callback may read the journal too. */
enum store_result store_each(struct store *s, const char *batch, bool (*each)(void *self, const struct entry *e),
                             void *self)
{
    static const char all[] = "SELECT seq,utc_us,mono_us,kind,batch,person,payload,prev,hash FROM journal ORDER BY seq";
    static const char one[] = "SELECT seq,utc_us,mono_us,kind,batch,person,payload,prev,hash FROM journal"
                              " WHERE batch=?1 ORDER BY seq";
    sqlite3_stmt *q = NULL;
    struct entry e;
    int rc = sqlite3_prepare_v2(s->db, batch ? one : all, -1, &q, NULL);
    if (rc == SQLITE_OK && batch)
        rc = sqlite3_bind_text(q, 1, batch, -1, SQLITE_STATIC);
    while (rc == SQLITE_OK || rc == SQLITE_ROW) {
        rc = sqlite3_step(q);
        if (rc == SQLITE_ROW && !store_row(q, &e))
            rc = SQLITE_CORRUPT;
        if (rc == SQLITE_ROW && each(self, &e))
            rc = SQLITE_DONE;
    }
    enum store_result r = rc == SQLITE_DONE ? STORE_OK : store_fault(s, rc, NULL);
    sqlite3_finalize(q);
    return r;
}

int64_t store_text(struct store *s, const char *hash_hex, char *buf, size_t cap)
{
    int rc;
    sqlite3_stmt *q = store_sql(s, SQL_TEXT, &rc);
    if (!q)
        return store_fault(s, rc, NULL);
    sqlite3_bind_text(q, 1, hash_hex, -1, SQLITE_STATIC);
    rc = sqlite3_step(q);
    int64_t result = rc == SQLITE_DONE ? STORE_NONE : STORE_BROKEN;
    if (rc == SQLITE_ROW && sqlite3_column_text(q, 0)) {
        const unsigned char *text = sqlite3_column_text(q, 0);
        size_t len = (size_t)sqlite3_column_bytes(q, 0);
        result = len < cap ? (int64_t)len : STORE_FULL; /* a part of a text would be another text */
        if (len < cap) {
            memcpy(buf, text, len);
            buf[len] = '\0';
        }
    }
    sqlite3_reset(q);
    sqlite3_clear_bindings(q);
    return result;
}
