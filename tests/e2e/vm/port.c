/* port DEVICE: a device through the drivers' table, its lines to standard output; what the virtual machine's tests talk to.
 * Says "open DRIVER", every line that comes, "gone CODE", "refused CODE WHY" (then tries again five times a second).
 * A line on standard input is sent to the device; "end" closes and ends. */
#include <poll.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "drivers/driver.h"

struct text {
    char bytes[200];
    size_t len;
};

/* Adds a byte; true when a line has come to its end (without it in the text). */
static bool add(struct text *t, char byte)
{
    if (byte == '\n' || t->len == sizeof t->bytes - 1) {
        t->bytes[t->len] = '\0';
        t->len = 0;
        return true;
    }
    if (byte != '\r')
        t->bytes[t->len++] = byte;
    return false;
}

static void say(const char *first, const char *rest)
{
    printf("%s %s\n", first, rest);
    fflush(stdout);
}

static void try_open(struct port *port, const char *device, const struct profile *profile)
{
    char why[DRIVER_WHY] = "", text[DRIVER_WHY + 20];
    enum driver_result r = port_open(port, device, profile, why);
    snprintf(text, sizeof text, "%d %s", (int)r, why);
    say(r == DRIVER_OK ? "open" : "refused", r == DRIVER_OK ? port->driver->name : text);
}

/* What has come from the device; false when it is gone. */
static bool take_device(struct port *port, struct text *line)
{
    uint8_t bytes[64];
    int n = port->driver->feed(port, bytes, sizeof bytes, 0);
    for (int k = 0; k < n; k++)
        if (add(line, (char)bytes[k]))
            say("line", line->bytes);
    if (n < 0)
        printf("gone %d\n", n);
    fflush(stdout);
    return n >= 0;
}

/* What has come from standard input; false at its end. */
static bool take_input(struct port *port, struct text *line)
{
    char bytes[64];
    ssize_t n = read(STDIN_FILENO, bytes, sizeof bytes);
    for (ssize_t k = 0; k < n; k++) {
        if (!add(line, bytes[k]))
            continue;
        if (!strcmp(line->bytes, "end"))
            return false;
        strcat(line->bytes, "\r\n");
        if (!port->driver || port->driver->send(port, line->bytes, strlen(line->bytes)) != DRIVER_OK)
            say("unsent", line->bytes);
    }
    return n > 0;
}

int main(int argc, char **argv)
{
    /* nothing that a port is set to before anybody sets it */
    const struct profile profile = {.baud = 4800, .bits = 8, .stop = 2, .end = "\r\n", .end_len = 2};
    struct text from_device = {.len = 0}, from_input = {.len = 0};
    struct port port = {.fd = -1};
    if (argc != 2)
        return 2;
    for (;;) {
        if (!port.driver)
            try_open(&port, argv[1], &profile);
        struct pollfd fds[2] = {{.fd = STDIN_FILENO, .events = POLLIN}, {.fd = -1}};
        if (port.driver)
            port.driver->watch(&port, &fds[1].fd, &fds[1].events);
        poll(fds, 2, port.driver ? -1 : 200);
        if (fds[1].revents && !take_device(&port, &from_device))
            port_close(&port);
        if (fds[0].revents && !take_input(&port, &from_input))
            break;
    }
    if (port.driver)
        port_close(&port);
    return 0;
}
