/* The wire by a clock of the test's own: which bytes have left at which microsecond. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>
#include <fcntl.h>
#include <unistd.h>
#include <cmocka.h>

#include "plant/wire.h"

static struct profile framed(uint32_t baud, uint8_t bits, uint8_t parity, uint8_t stop)
{
    return (struct profile){.baud = baud, .bits = bits, .parity = parity, .stop = stop};
}

static void a_byte_has_its_frame(void **state)
{
    (void)state;
    struct wire w;
    const struct {
        struct profile p;
        uint32_t ns;
    } cases[] = {
        {framed(9600, 8, PARITY_NONE, 1), 1041666},  /* 10 bits */
        {framed(9600, 7, PARITY_EVEN, 1), 1041666},  /* 10 */
        {framed(9600, 8, PARITY_ODD, 1), 1145833},   /* 11 */
        {framed(1200, 8, PARITY_EVEN, 2), 10000000}, /* 12 */
        {framed(300, 7, PARITY_NONE, 1), 30000000},  /* 9 */
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        wire_init(&w, &cases[i].p, NULL, NULL);
        assert_int_equal(w.byte_ns, cases[i].ns);
    }
}

/* Opens the wire and its other end. */
static int open_both(struct wire *w, const struct profile *p)
{
    char why[WIRE_WHY];
    wire_init(w, p, NULL, NULL);
    if (!wire_plug(w, p, why))
        fail_msg("%s", why);
    return open(w->path, O_RDWR | O_NOCTTY | O_NONBLOCK);
}

static size_t arrived(int fd)
{
    char buf[256];
    ssize_t n = read(fd, buf, sizeof buf);
    return n > 0 ? (size_t)n : 0;
}

static void bytes_leave_when_their_stop_bit_has(void **state)
{
    (void)state;
    struct profile p = framed(1000, 8, PARITY_NONE, 1); /* 10 ms a byte */
    struct wire w;
    int fd = open_both(&w, &p);
    assert_true(wire_idle(&w));
    assert_true(wire_due(&w) == UINT64_MAX);
    assert_true(wire_send(&w, "abcde", 5, 1000000));
    assert_in_range(wire_due(&w), 1010000, 1010001);
    wire_pump(&w, 1009999);
    assert_int_equal(arrived(fd), 0);
    wire_pump(&w, 1010000);
    assert_int_equal(arrived(fd), 1);
    assert_true(wire_send(&w, "fg", 2, 1015000)); /* goes out right behind them */
    wire_pump(&w, 1039000);
    assert_int_equal(arrived(fd), 2);
    wire_pump(&w, 1050000);
    assert_int_equal(arrived(fd), 2);
    assert_false(wire_idle(&w));
    wire_pump(&w, 1070000);
    assert_int_equal(arrived(fd), 2);
    assert_true(wire_idle(&w));
    assert_true(wire_send(&w, "h", 1, 5000000));
    wire_pump(&w, 5009000);
    assert_int_equal(arrived(fd), 0);
    wire_pump(&w, 5010000);
    assert_int_equal(arrived(fd), 1);
    assert_int_equal(w.lost, 0);
    close(fd);
    wire_unplug(&w);
}

static void nobody_there_means_lost(void **state)
{
    (void)state;
    struct profile p = framed(9600, 8, PARITY_NONE, 1);
    struct wire w;
    int fd = open_both(&w, &p);
    assert_true(wire_send(&w, "abc", 3, 0));
    wire_pump(&w, 1000000);
    close(fd); /* with three bytes unread */
    wire_look(&w);
    assert_false(w.reader);
    assert_true(wire_send(&w, "defg", 4, 2000000));
    wire_pump(&w, 3000000);
    assert_int_equal(w.lost, 4);
    fd = open(w.path, O_RDWR | O_NOCTTY | O_NONBLOCK);
    assert_int_equal(arrived(fd), 0);
    wire_look(&w);
    assert_true(w.reader);
    close(fd);
    wire_unplug(&w);
    assert_false(wire_send(&w, "x", 1, 4000000));
}

static void a_full_buffer_loses_and_never_blocks(void **state)
{
    (void)state;
    struct profile p = framed(115200, 8, PARITY_NONE, 1);
    struct wire w;
    char block[1000];
    int fd = open_both(&w, &p);
    memset(block, 'x', sizeof block);
    for (uint64_t s = 1; s <= 200; s++) {
        assert_true(wire_send(&w, block, sizeof block, s * 1000000));
        wire_pump(&w, s * 1000000 + 900000);
        assert_true(wire_idle(&w));
    }
    assert_true(w.lost > 50000 && w.lost < 200000);
    assert_false(wire_send(&w, block, WIRE_QUEUE + 1, UINT64_C(300000000)));
    close(fd);
    wire_unplug(&w);
}

static void hears_its_reader(void **state)
{
    (void)state;
    struct profile p = framed(9600, 8, PARITY_NONE, 1);
    struct wire w;
    char buf[16];
    int fd = open_both(&w, &p);
    assert_int_equal(wire_read(&w, buf, sizeof buf), 0);
    assert_int_equal(write(fd, "W\r\n", 3), 3);
    assert_int_equal(wire_read(&w, buf, sizeof buf), 3);
    assert_memory_equal(buf, "W\r\n", 3); /* raw: no line end is changed */
    close(fd);
    assert_int_equal(wire_read(&w, buf, sizeof buf), 0);
    assert_false(w.reader);
    wire_unplug(&w);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_byte_has_its_frame),    cmocka_unit_test(bytes_leave_when_their_stop_bit_has),
        cmocka_unit_test(nobody_there_means_lost), cmocka_unit_test(a_full_buffer_loses_and_never_blocks),
        cmocka_unit_test(hears_its_reader),
    };
    return cmocka_run_group_tests_name("plant wire", tests, NULL, NULL);
}
