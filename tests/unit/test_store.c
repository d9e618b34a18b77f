/* The journal: what it keeps, what it refuses, what it notices. Each test has a folder of its own under $TMPDIR. */
#include <errno.h>
#include <fcntl.h>
#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>
#include <sqlite3.h>

#include "store/store.h"

static char folder[200], path[256], why[STORE_WHY];

static int setup(void **state)
{
    (void)state;
    const char *tmp = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "%s/tareline-store-XXXXXX", tmp ? tmp : "/tmp");
    if (!mkdtemp(folder))
        return -1;
    snprintf(path, sizeof path, "%s/journal.db", folder);
    return 0;
}

static int teardown(void **state)
{
    (void)state;
    char command[500];
    snprintf(command, sizeof command, "chmod -R u+w '%s'; rm -rf '%s'", folder, folder);
    return system(command) == 0 ? 0 : -1;
}

static struct store *writer(void)
{
    struct store *s = NULL;
    if (store_open(&s, path, STORE_WRITE, why) != STORE_OK)
        fail_msg("open for writing: %s", why);
    return s;
}

static struct store *reader(void)
{
    struct store *s = NULL;
    if (store_open(&s, path, STORE_READ, why) != STORE_OK)
        fail_msg("open for reading: %s", why);
    return s;
}

static struct entry sample(const char *kind, const char *batch, const char *payload)
{
    return (struct entry){.utc_us = INT64_C(1750000000000000),
                          .mono_us = 12345678,
                          .kind = kind,
                          .batch = batch,
                          .person = "ab",
                          .payload = payload};
}

static void append(struct store *s, const char *kind, const char *batch, const char *payload)
{
    struct entry e = sample(kind, batch, payload);
    if (store_append(s, &e, NULL, why) != STORE_OK)
        fail_msg("append: %s", why);
}

/* A writer with a little history: two batches, one of them complete, one kept text. */
static void fill(void)
{
    char hex[65];
    struct store *s = writer();
    assert_int_equal(store_keep_text(s, 1, 2, "a.ini", "[formula]\n", 10, hex, why), STORE_OK);
    append(s, "started", "b1", "{\"net_pg\":5}");
    append(s, "weighed", "b1", "{\"item\":1,\"actual_pg\":9007199254740993}");
    append(s, "state", "b1", "{\"state\":\"complete\"}");
    append(s, "started", "b2", "{}");
    append(s, "weighed", "b2", "{\"item\":1,\"lot\":\"\xc3\xa9\"}");
    store_close(s);
}

/* Another program's hand on the file. */
static int tamper(const char *sql)
{
    sqlite3 *db;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    int rc = sqlite3_exec(db, sql, NULL, NULL, NULL);
    assert_int_equal(sqlite3_close(db), SQLITE_OK);
    return rc;
}

static void verify_says(enum store_result result, int64_t bad, const char *words)
{
    int64_t seq, count;
    struct store *s = reader();
    why[0] = '\0';
    assert_int_equal(store_verify(s, &seq, &count, why), result);
    assert_int_equal(seq, bad);
    if (!strstr(why, words))
        fail_msg("\"%s\" does not say \"%s\"", why, words);
    store_close(s);
}

struct seen {
    int64_t count, last;
    char payload[200];
};

static bool see(void *self, const struct entry *e)
{
    struct seen *seen = self;
    seen->count++;
    seen->last = e->seq;
    snprintf(seen->payload, sizeof seen->payload, "%s", e->payload);
    return false;
}

static void test_appends_and_reads_back(void **state)
{
    (void)state;
    struct store_head head = {0};
    struct store *s = writer();
    assert_int_equal(store_head(s).seq, 0);
    struct entry e = sample("started", "b1", "{\"a\":\"\xe2\x82\xac\"}");
    assert_int_equal(store_append(s, &e, &head, why), STORE_OK);
    assert_int_equal(head.seq, 1);
    append(s, "weighed", "b1", "{}");
    append(s, "notice", "", "{}");
    store_close(s);
    s = reader();
    assert_int_equal(store_head(s).seq, 3);
    struct seen seen = {0};
    assert_int_equal(store_each(s, NULL, see, &seen), STORE_OK);
    assert_int_equal(seen.count, 3);
    seen = (struct seen){0};
    assert_int_equal(store_each(s, "b1", see, &seen), STORE_OK);
    assert_int_equal(seen.count, 2);
    assert_int_equal(seen.last, 2);
    assert_int_equal(store_append(s, &e, NULL, why), STORE_DENIED);
    store_close(s);
    verify_says(STORE_OK, 0, "");
}

/* The figures were computed with Python's hashlib.blake2b from docs/journal.md. */
static void test_hash_is_the_documented_one(void **state)
{
    (void)state;
    static const uint8_t due[STORE_HASH] = {0xb9, 0x08, 0x16, 0x5a, 0xa9, 0x13, 0x8b, 0xca, 0x63, 0x53, 0x83,
                                            0x4b, 0x33, 0xeb, 0x5a, 0x4b, 0x53, 0x62, 0x3e, 0xfe, 0x93, 0x0f,
                                            0xae, 0x2b, 0xd3, 0xc2, 0x73, 0x54, 0x05, 0xb5, 0x40, 0x7a};
    uint8_t hash[STORE_HASH];
    struct store_head before = {.seq = 6};
    memset(before.hash, 0xa5, sizeof before.hash);
    struct entry e = {.utc_us = -2,
                      .mono_us = UINT64_C(0x0102030405060708),
                      .kind = "weighed",
                      .batch = "b-1",
                      .person = "\xc3\xa9",
                      .payload = "{\"item\":1}"};
    store_hash_entry(&before, &e, hash);
    assert_memory_equal(hash, due, sizeof due);
    /* the fields are told apart by their lengths */
    struct entry shifted = e;
    shifted.batch = "b-1\xc3\xa9";
    shifted.person = "";
    store_hash_entry(&before, &shifted, hash);
    assert_memory_not_equal(hash, due, sizeof due);
}

static void test_refuses_every_change(void **state)
{
    (void)state;
    static const char *const forgeries[] = {
        "UPDATE journal SET payload='{}' WHERE seq=3",
        "UPDATE OR REPLACE journal SET seq=2 WHERE seq=3",
        "DELETE FROM journal WHERE seq=6",
        "DELETE FROM journal",
        "INSERT OR REPLACE INTO journal SELECT seq,1,1,'x','','','{}',prev,hash FROM journal WHERE seq=3",
        "REPLACE INTO journal SELECT * FROM journal WHERE seq=6",
        "INSERT OR IGNORE INTO journal SELECT seq,1,1,'x','','','{}',prev,hash FROM journal WHERE seq=6",
        "INSERT INTO journal SELECT 6,1,1,'x','','','{}',prev,hash FROM journal WHERE seq=6"
        " ON CONFLICT(seq) DO UPDATE SET payload='{}'",
        "INSERT INTO journal SELECT 8,1,1,'x','','','{}',hash,hash FROM journal WHERE seq=6",
        "INSERT INTO journal SELECT -1,1,1,'x','','','{}',hash,hash FROM journal WHERE seq=6",
        "INSERT INTO journal SELECT NULL,1,1,'x','','','{}',prev,hash FROM journal WHERE seq=6",
        /* the right number, but not after the newest hash */
        "INSERT INTO journal SELECT 7,1,1,'x','','','{}',prev,hash FROM journal WHERE seq=6",
        /* REPLACE must find no other unique column to remove an old row by */
        "INSERT OR REPLACE INTO journal SELECT 7,1,1,'x','','',prev,hash,hash FROM journal WHERE seq=6",
        "INSERT INTO journal SELECT 7,1,1,'x','','','no json',hash,hash FROM journal WHERE seq=6",
    };
    fill();
    for (size_t i = 0; i < sizeof forgeries / sizeof forgeries[0]; i++)
        if (tamper(forgeries[i]) != SQLITE_CONSTRAINT)
            fail_msg("went through: %s", forgeries[i]);
    verify_says(STORE_OK, 0, "");
}

/* REPLACE removes rows without asking the delete trigger, if it finds a unique column to do it by. */
static void test_replace_removes_nothing(void **state)
{
    (void)state;
    fill();
    tamper("INSERT OR REPLACE INTO journal SELECT 7,1,1,'x','','','{}',hash,hash FROM journal WHERE seq=6");
    struct seen seen = {0};
    struct store *s = reader();
    store_each(s, NULL, see, &seen);
    store_close(s);
    assert_int_equal(seen.count, 7);
    verify_says(STORE_BROKEN, 7, "entry 7 was changed");
}

#define NO_GUARDS                                                                                                      \
    "DROP TRIGGER journal_no_update; DROP TRIGGER journal_no_delete; DROP TRIGGER journal_next_only;"                  \
    "DROP TRIGGER journal_project;"

static void test_verify_finds_a_changed_payload(void **state)
{
    (void)state;
    fill();
    assert_int_equal(tamper(NO_GUARDS "UPDATE journal SET payload='{\"item\":2}' WHERE seq=3"), SQLITE_OK);
    verify_says(STORE_BROKEN, 3, "entry 3 was changed");
}

static void test_verify_finds_every_changed_column(void **state)
{
    (void)state;
    static const char *const columns[] = {"utc_us=utc_us+1", "mono_us=mono_us+1", "kind='lot'", "batch='b3'",
                                          "person='cd'"};
    for (size_t i = 0; i < sizeof columns / sizeof columns[0]; i++) {
        char sql[400];
        fill();
        snprintf(sql, sizeof sql, NO_GUARDS "UPDATE journal SET %s WHERE seq=6", columns[i]);
        assert_int_equal(tamper(sql), SQLITE_OK);
        verify_says(STORE_BROKEN, 6, "entry 6 was changed");
        unlink(path);
    }
}

static void test_verify_finds_a_removed_row(void **state)
{
    (void)state;
    fill();
    assert_int_equal(tamper(NO_GUARDS "DELETE FROM journal WHERE seq=4"), SQLITE_OK);
    verify_says(STORE_BROKEN, 4, "entry 4 is missing");
}

static void test_verify_finds_two_that_changed_places(void **state)
{
    (void)state;
    fill();
    assert_int_equal(tamper(NO_GUARDS "UPDATE journal SET seq=100 WHERE seq=2; UPDATE journal SET seq=2 WHERE seq=3;"
                                      "UPDATE journal SET seq=3 WHERE seq=100"),
                     SQLITE_OK);
    verify_says(STORE_BROKEN, 2, "entry 2 does not follow");
}

/* Changed, and its own hash made to fit: the next one no longer follows. */
static void test_verify_finds_a_forged_hash(void **state)
{
    (void)state;
    char sql[600], hex[65];
    fill();
    struct store *s = writer();
    struct store_head first = {0};
    struct entry forged = sample("text", "", "{}");
    forged.utc_us = 1;
    forged.mono_us = 2;
    forged.person = "";
    forged.kind = "notice";
    uint8_t hash[STORE_HASH];
    store_hash_entry(&first, &forged, hash);
    store_close(s);
    for (int i = 0; i < STORE_HASH; i++)
        snprintf(hex + 2 * i, 3, "%02x", hash[i]);
    snprintf(sql, sizeof sql, NO_GUARDS "UPDATE journal SET payload='{}',kind='notice',hash=x'%s' WHERE seq=1", hex);
    assert_int_equal(tamper(sql), SQLITE_OK);
    verify_says(STORE_BROKEN, 2, "entry 2 does not follow");
}

static void test_verify_finds_a_false_text(void **state)
{
    (void)state;
    struct store *s = writer();
    append(s, "text", "", "{\"name\":\"a\",\"hash\":\"00\",\"text\":\"b\"}");
    store_close(s);
    verify_says(STORE_BROKEN, 1, "keeps a text that is not the one");
}

static void test_verify_finds_lost_guards(void **state)
{
    (void)state;
    struct store *s = NULL;
    fill();
    assert_int_equal(tamper("DROP TRIGGER journal_no_delete"), SQLITE_OK);
    verify_says(STORE_BROKEN, 0, "the guard journal_no_delete is missing");
    assert_int_equal(store_open(&s, path, STORE_WRITE, why), STORE_BROKEN);
    assert_non_null(strstr(why, "journal_no_delete"));
    assert_null(s);
    assert_int_equal(store_open(&s, path, STORE_REPAIR, why), STORE_OK);
    store_close(s);
    verify_says(STORE_OK, 0, "");
    assert_int_equal(tamper("CREATE TRIGGER more AFTER INSERT ON journal BEGIN SELECT 1; END"), SQLITE_OK);
    verify_says(STORE_BROKEN, 0, "another trigger");
}

static void test_verify_finds_projections_out_of_step(void **state)
{
    (void)state;
    static const char *const changes[] = {
        "UPDATE batches SET state='complete' WHERE batch='b2'", "DELETE FROM batches WHERE batch='b1'",
        "INSERT INTO batches VALUES('b9',9,9,'running')",       "DELETE FROM texts",
        "UPDATE batches SET last_seq=5 WHERE batch='b2'",       "DROP TABLE texts",
    };
    fill();
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++) {
        struct store *s = NULL;
        assert_int_equal(tamper(changes[i]), SQLITE_OK);
        verify_says(STORE_BROKEN, 0, "is out of step");
        assert_int_equal(store_open(&s, path, STORE_REPAIR, why), STORE_OK);
        store_close(s);
        verify_says(STORE_OK, 0, "");
    }
}

static void test_knows_open_and_closed_batches(void **state)
{
    (void)state;
    char batch[STORE_BATCH], closed[16];
    struct store *s = writer();
    assert_int_equal(store_open_batch(s, batch), STORE_OK);
    assert_string_equal(batch, "");
    append(s, "notice", "b1", "{}"); /* before the batch is opened: opens nothing */
    assert_int_equal(store_open_batch(s, batch), STORE_OK);
    assert_string_equal(batch, "");
    append(s, "started", "b1", "{}");
    append(s, "state", "b1", "{\"state\":\"paused\"}");
    store_open_batch(s, batch);
    assert_string_equal(batch, "b1");
    store_last_closed(s, batch, closed);
    assert_string_equal(batch, "");
    append(s, "state", "b1", "{\"state\":\"held\"}");
    store_open_batch(s, batch);
    assert_string_equal(batch, "b1");
    append(s, "state", "b1", "{\"state\":\"stopped\"}");
    append(s, "started", "b2", "{}");
    store_open_batch(s, batch);
    assert_string_equal(batch, "b2");
    store_last_closed(s, batch, closed);
    assert_string_equal(batch, "b1");
    assert_string_equal(closed, "stopped");
    append(s, "state", "b2", "{\"state\":\"aborted\"}");
    append(s, "weighed", "b1", "{}"); /* a late word on an older batch does not make it the newest */
    store_last_closed(s, batch, closed);
    assert_string_equal(batch, "b2");
    store_close(s);
    verify_says(STORE_OK, 0, "");
}

static void test_keeps_texts_once(void **state)
{
    (void)state;
    static const char text[] = "[formula]\r\n\tname = \"Br\xc3\xa4t\" \\ \x01\x7f\n";
    char hex[65], again[65], small[8], buf[100];
    struct store *s = writer();
    assert_int_equal(store_keep_text(s, 1, 2, "f.ini", text, sizeof text - 1, hex, why), STORE_OK);
    assert_int_equal(store_keep_text(s, 3, 4, "g.ini", text, sizeof text - 1, again, why), STORE_OK);
    assert_string_equal(hex, again);
    assert_int_equal(store_head(s).seq, 1);
    assert_int_equal(store_text(s, hex, buf, sizeof buf), sizeof text - 1);
    assert_string_equal(buf, text);
    assert_int_equal(store_text(s, hex, small, sizeof small), STORE_FULL);
    assert_int_equal(store_text(s, "00", buf, sizeof buf), STORE_NONE);
    assert_int_equal(store_keep_text(s, 1, 2, "n", "a\0b", 3, hex, why), STORE_SYSTEM);
    assert_int_equal(store_head(s).seq, 1);
    store_close(s);
    verify_says(STORE_OK, 0, "");
}

static void test_one_writer(void **state)
{
    (void)state;
    char link_path[300];
    struct store *second = NULL, *s = writer();
    assert_int_equal(store_open(&second, path, STORE_WRITE, why), STORE_BUSY);
    assert_non_null(strstr(why, "another program (process "));
    assert_null(second);
    snprintf(link_path, sizeof link_path, "%s/other.db", folder);
    assert_int_equal(symlink(path, link_path), 0);
    assert_int_equal(store_open(&second, link_path, STORE_WRITE, why), STORE_BUSY);
    append(s, "started", "b1", "{}");
    struct store *r = reader();
    append(s, "weighed", "b1", "{}"); /* a reader does not stand in the writer's way */
    store_close(r);
    store_close(s);
    store_close(writer());
}

/* A reader that comes and goes must not loosen SQLite's locks of the same process. */
static void test_reader_leaves_the_writers_locks(void **state)
{
    (void)state;
    struct store *s = writer();
    append(s, "started", "b1", "{}");
    for (int i = 0; i < 3; i++)
        store_close(reader());
    pid_t child = fork();
    if (child == 0) { /* another process: if it believed to be the last, it would take the log away */
        sqlite3 *db;
        sqlite3_open(path, &db);
        sqlite3_exec(db, "SELECT count(*) FROM journal", NULL, NULL, NULL);
        sqlite3_close(db);
        _exit(0);
    }
    waitpid(child, NULL, 0);
    char wal[300];
    snprintf(wal, sizeof wal, "%s-wal", path);
    assert_int_equal(access(wal, F_OK), 0);
    append(s, "weighed", "b1", "{}");
    store_close(s);
    verify_says(STORE_OK, 0, "");
}

static void write_file(const char *bytes, size_t n)
{
    FILE *f = fopen(path, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(bytes, 1, n, f), n);
    fclose(f);
}

static void refused(enum store_mode mode, enum store_result result, const char *words)
{
    struct store *s = NULL;
    enum store_result r = store_open(&s, path, mode, why);
    if (r != result || !strstr(why, words))
        fail_msg("%d \"%s\" instead of %d \"%s\"", r, why, result, words);
    assert_null(s);
}

static void test_foreign_files_are_left_alone(void **state)
{
    (void)state;
    char lock[300];
    struct stat st;
    write_file("not a journal", 13);
    refused(STORE_WRITE, STORE_FOREIGN, "is not a journal");
    refused(STORE_READ, STORE_FOREIGN, "is not a journal");
    stat(path, &st);
    assert_int_equal(st.st_size, 13);
    snprintf(lock, sizeof lock, "%s-lock", path);
    assert_int_equal(access(lock, F_OK), -1);
    unlink(path);
    assert_int_equal(tamper("CREATE TABLE t(a)"), SQLITE_OK);
    refused(STORE_WRITE, STORE_FOREIGN, "of another program");
    unlink(path);
    fill();
    assert_int_equal(tamper("PRAGMA user_version=2"), SQLITE_OK);
    refused(STORE_WRITE, STORE_FOREIGN, "of version 2, this program reads up to 1");
    refused(STORE_READ, STORE_FOREIGN, "use the newer program");
    unlink(path);
    assert_int_equal(mkdir(path, 0700), 0);
    refused(STORE_WRITE, STORE_FOREIGN, "is not a file");
    rmdir(path);
}

static void test_nothing_there(void **state)
{
    (void)state;
    refused(STORE_READ, STORE_NONE, "there is no journal at");
    refused(STORE_REPAIR, STORE_NONE, "there is no journal at");
    assert_int_equal(access(path, F_OK), -1);
    write_file("", 0);
    refused(STORE_READ, STORE_NONE, "is empty");
    store_close(writer()); /* an empty file may be made a journal */
    snprintf(path, sizeof path, "%s/a/b/journal.db", folder);
    refused(STORE_READ, STORE_NONE, "there is no journal at");
    refused(STORE_WRITE, STORE_DENIED, "is not there; make it");
    assert_int_equal(store_make_folders(path, why), STORE_OK);
    store_close(writer());
    struct stat st;
    char made[300];
    snprintf(made, sizeof made, "%s/a", folder);
    assert_int_equal(stat(made, &st), 0);
    assert_int_equal(st.st_mode & 0777, 0700);
    path[0] = '\0';
    refused(STORE_WRITE, STORE_SYSTEM, "path is empty");
}

/* Modes bind only who is not root: a child that is root becomes nobody. 0 when `job` said true. */
static int as_nobody(bool (*job)(void))
{
    pid_t child = fork();
    if (child == 0) {
        if (geteuid() == 0 && (setgid(65534) != 0 || setuid(65534) != 0))
            _exit(9);
        _exit(job() ? 0 : 1);
    }
    int status = -1;
    waitpid(child, &status, 0);
    return status;
}

static bool job_write_denied(void)
{
    struct store *s = NULL;
    return store_open(&s, path, STORE_WRITE, why) == STORE_DENIED && strstr(why, "can't be written");
}

static bool job_no_folder(void)
{
    return store_make_folders(path, why) == STORE_DENIED && strstr(why, "can't be written");
}

static bool job_reads_all(void)
{
    struct store *s = NULL;
    struct seen seen = {0};
    if (store_open(&s, path, STORE_READ, why) != STORE_OK || store_each(s, NULL, see, &seen) != STORE_OK) {
        fprintf(stderr, "%s\n", why);
        return false;
    }
    store_close(s);
    return seen.count == 6;
}

static bool job_log_is_missed(void)
{
    struct store *s = NULL;
    return store_open(&s, path, STORE_READ, why) == STORE_DENIED && strstr(why, "newest entries");
}

static void test_read_only_folder(void **state)
{
    (void)state;
    char wal[300], kept[300];
    assert_int_equal(chmod(folder, 0755), 0);
    fill();
    chmod(path, 0444);
    chmod(folder, 0555);
    assert_int_equal(as_nobody(job_write_denied), 0);
    assert_int_equal(as_nobody(job_reads_all), 0);
    /* a log without its index, as on a copied disk: not silently read past */
    chmod(folder, 0755);
    chmod(path, 0644);
    snprintf(kept, sizeof kept, "%s/kept", folder);
    snprintf(wal, sizeof wal, "%s-wal", path);
    struct store *s = writer();
    append(s, "weighed", "b2", "{}");
    assert_int_equal(link(wal, kept), 0);
    store_close(s);
    assert_int_equal(rename(kept, wal), 0);
    chmod(folder, 0555);
    assert_int_equal(as_nobody(job_log_is_missed), 0);
    chmod(folder, 0755);
    unlink(wal);
    chmod(folder, 0555);
    snprintf(path, sizeof path, "%s/new/journal.db", folder);
    assert_int_equal(as_nobody(job_no_folder), 0);
    chmod(folder, 0755);
}

static void test_moved_journal_takes_no_entry(void **state)
{
    (void)state;
    char aside[300];
    struct store *s = writer();
    struct entry e = sample("started", "b1", "{}");
    snprintf(aside, sizeof aside, "%s/aside", folder);
    assert_int_equal(rename(path, aside), 0);
    assert_int_equal(store_append(s, &e, NULL, why), STORE_DENIED);
    assert_non_null(strstr(why, "moved or removed"));
    assert_int_equal(rename(aside, path), 0);
    assert_int_equal(store_append(s, &e, NULL, why), STORE_OK);
    store_close(s);
}

/* A limit on a file's size is met as a full disk is; what was refused can be stored once there is room. */
static void test_full_disk(void **state)
{
    (void)state;
    char payload[4000], fill_with[3900];
    struct rlimit small, before;
    memset(fill_with, 'x', sizeof fill_with - 1);
    fill_with[sizeof fill_with - 1] = '\0';
    snprintf(payload, sizeof payload, "{\"a\":\"%s\"}", fill_with);
    struct entry e = sample("started", "b1", payload);
    struct store *s = writer();
    assert_int_equal(store_append(s, &e, NULL, why), STORE_OK);
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    small = before;
    small.rlim_cur = 100000;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    int stored = 1;
    enum store_result r;
    while ((r = store_append(s, &e, NULL, why)) == STORE_OK)
        stored++;
    enum store_result again = store_append(s, &e, NULL, why);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    assert_int_equal(r, STORE_FULL);
    assert_int_equal(again, STORE_FULL);
    assert_non_null(strstr(why, "nothing was stored; free some space"));
    assert_int_equal(store_head(s).seq, stored);
    assert_int_equal(store_append(s, &e, NULL, why), STORE_OK);
    assert_int_equal(store_head(s).seq, stored + 1);
    store_close(s);
    verify_says(STORE_OK, 0, "");
}

static void test_bad_entries_are_refused(void **state)
{
    (void)state;
    struct store *s = writer();
    struct entry e = sample("weighed", "b1", "not json");
    assert_int_equal(store_append(s, &e, NULL, why), STORE_SYSTEM);
    assert_non_null(strstr(why, "refused the entry"));
    e = sample("", "b1", "{}");
    assert_int_equal(store_append(s, &e, NULL, why), STORE_SYSTEM);
    e = sample("weighed", "b1", "[1]");
    assert_int_equal(store_append(s, &e, NULL, why), STORE_SYSTEM);
    assert_int_equal(store_head(s).seq, 0);
    append(s, "weighed", "b1", "{}");
    assert_int_equal(store_head(s).seq, 1);
    store_close(s);
}

/* An entry is at most one statement in flight: neither memory nor log grow with the number of entries. */
static void test_appending_does_not_grow(void **state)
{
    (void)state;
    char wal[300];
    struct stat st;
    struct store *s = writer();
    static char big[20000];
    memset(big, 'x', sizeof big - 1);
    memcpy(big, "{\"a\":\"", 6);
    memcpy(big + sizeof big - 3, "\"}", 3);
    append(s, "started", "b1", "{}");
    for (int n = 0; n < 60; n++) /* until the page cache has its size */
        append(s, "weighed", "b1", big);
    sqlite3_int64 before = sqlite3_memory_used();
    for (int n = 0; n < 500; n++)
        append(s, "weighed", "b1", "{\"item\":1,\"actual_pg\":9007199254740993}");
    assert_true(sqlite3_memory_used() <= before + 4096);
    snprintf(wal, sizeof wal, "%s-wal", path);
    assert_int_equal(stat(wal, &st), 0);
    assert_true(st.st_size < 1500000); /* 256 pages and what one entry adds to them */
    store_close(s);
}

/* Killed in the middle of appending, again and again: every entry that was said to be stored is there. */
static void test_survives_kill(void **state)
{
    (void)state;
    int64_t told = 0;
    for (int round = 0; round < 12; round++) {
        int ends[2];
        assert_int_equal(pipe(ends), 0);
        pid_t child = fork();
        if (child == 0) {
            struct store *s = NULL;
            struct entry e = sample("started", "b1", "{}");
            struct store_head head;
            if (store_open(&s, path, STORE_WRITE, why) != STORE_OK)
                _exit(1);
            while (store_append(s, &e, &head, why) == STORE_OK && write(ends[1], &head.seq, sizeof head.seq) > 0)
                ;
            _exit(1);
        }
        close(ends[1]);
        for (int n = 0; n < 5 + round && read(ends[0], &told, sizeof told) == sizeof told; n++)
            ;
        usleep((useconds_t)(137 * round));
        kill(child, SIGKILL);
        waitpid(child, NULL, 0);
        while (read(ends[0], &told, sizeof told) == sizeof told)
            ;
        close(ends[0]);
        struct store *s = writer();
        assert_true(store_head(s).seq >= told && told > 0);
        store_close(s);
        verify_says(STORE_OK, 0, "");
    }
}

static void test_default_path(void **state)
{
    (void)state;
    char buf[100];
    bool ours = true;
    setenv("HOME", "/h/a", 1);
    setenv("XDG_DATA_HOME", "/data", 1);
    setenv("TARELINE_JOURNAL", "x.db", 1);
    assert_true(store_default_path(buf, sizeof buf, &ours));
    assert_string_equal(buf, "x.db");
    assert_false(ours);
    unsetenv("TARELINE_JOURNAL");
    assert_true(store_default_path(buf, sizeof buf, &ours));
    assert_string_equal(buf, "/data/tareline/journal.db");
    assert_true(ours);
    setenv("XDG_DATA_HOME", "relative", 1);
    assert_true(store_default_path(buf, sizeof buf, &ours));
    assert_string_equal(buf, "/h/a/.local/share/tareline/journal.db");
    assert_false(store_default_path(buf, 20, &ours));
    unsetenv("HOME");
    assert_false(store_default_path(buf, sizeof buf, &ours));
}

static void test_clock_never_set(void **state)
{
    (void)state;
    assert_false(store_clock_set(0));
    assert_false(store_clock_set(INT64_C(1704067199999999)));
    assert_true(store_clock_set(INT64_C(1704067200000000)));
}

#define T(name) cmocka_unit_test_setup_teardown(name, setup, teardown)

int main(void)
{
    const struct CMUnitTest tests[] = {
        T(test_appends_and_reads_back),
        T(test_hash_is_the_documented_one),
        T(test_refuses_every_change),
        T(test_replace_removes_nothing),
        T(test_verify_finds_a_changed_payload),
        T(test_verify_finds_every_changed_column),
        T(test_verify_finds_a_removed_row),
        T(test_verify_finds_two_that_changed_places),
        T(test_verify_finds_a_forged_hash),
        T(test_verify_finds_a_false_text),
        T(test_verify_finds_lost_guards),
        T(test_verify_finds_projections_out_of_step),
        T(test_knows_open_and_closed_batches),
        T(test_keeps_texts_once),
        T(test_one_writer),
        T(test_reader_leaves_the_writers_locks),
        T(test_foreign_files_are_left_alone),
        T(test_nothing_there),
        T(test_read_only_folder),
        T(test_moved_journal_takes_no_entry),
        T(test_full_disk),
        T(test_bad_entries_are_refused),
        T(test_appending_does_not_grow),
        T(test_survives_kill),
        T(test_default_path),
        T(test_clock_never_set),
    };
    return cmocka_run_group_tests_name("store", tests, NULL, NULL);
}
