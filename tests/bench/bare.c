/* The bare programs that the station is measured against: the least that could do the same.
 *
 *   bare read DEVICE    polls and reads a line's bytes as they come; writes one byte for each whole line
 *   bare start JOURNAL  only initialises the libraries that the station uses, and fills one screen */
#include <fcntl.h>
#include <hidapi.h>
#include <ini.h>
#include <libserialport.h>
#include <locale.h>
#include <modbus.h>
#include <curses.h>
#include <poll.h>
#include <sodium.h>
#include <sqlite3.h>
#include <stdio.h>
#include <string.h>
#include <term.h>
#include <termios.h>
#include <unistd.h>

static int bare_read(const char *device)
{
    struct termios t;
    char buf[256];
    int fd = open(device, O_RDWR | O_NOCTTY | O_NONBLOCK);
    if (fd < 0 || tcgetattr(fd, &t))
        return 1;
    cfmakeraw(&t);
    tcsetattr(fd, TCSANOW, &t);
    if (write(1, "+", 1) != 1)
        return 1;
    for (;;) {
        struct pollfd p = {.fd = fd, .events = POLLIN};
        if (poll(&p, 1, -1) < 0)
            return 1;
        ssize_t n = read(fd, buf, sizeof buf);
        if (n <= 0)
            return 1;
        if (memchr(buf, '\n', (size_t)n) && write(1, "#", 1) != 1)
            return 1;
    }
}

static int no_key(void *user, const char *section, const char *name, const char *value)
{
    (void)user, (void)section, (void)name, (void)value;
    return 1;
}

static int bare_start(const char *journal)
{
    sqlite3 *db;
    char screen[8192];
    size_t n = 0;
    int known;
    setlocale(LC_ALL, "");
    if (sodium_init() < 0 || ini_parse_string("[a]\nb = c\n", no_key, NULL) || !sp_get_lib_version_string() ||
        !hid_version_str() || !modbus_strerror(0))
        return 1;
    if (sqlite3_open(journal, &db) ||
        sqlite3_exec(db, "PRAGMA synchronous=FULL; PRAGMA user_version", NULL, NULL, NULL))
        return 1;
    if (setupterm(NULL, 1, &known) == ERR || known != 1 || !cursor_address)
        return 1;
    n += (size_t)snprintf(screen, sizeof screen, "%s%s", enter_ca_mode, clear_screen);
    for (int row = 0; row < 24; row++)
        n += (size_t)snprintf(screen + n, sizeof screen - n, "%s%*d", tiparm(cursor_address, row, 0), 70, row);
    n += (size_t)snprintf(screen + n, sizeof screen - n, "\rall is there");
    if (write(1, screen, n) != (ssize_t)n)
        return 1;
    pause();
    sqlite3_close(db);
    return 0;
}

int main(int argc, char **argv)
{
    if (argc == 3 && !strcmp(argv[1], "read"))
        return bare_read(argv[2]);
    if (argc == 3 && !strcmp(argv[1], "start"))
        return bare_start(argv[2]);
    fputs("usage: bare read DEVICE | bare start JOURNAL\n", stderr);
    return 2;
}
