/* Many offsets into the bytes of a file, looked at in one compiled pass.

   Every function here has a twin in numpy (scan.py, bulk.py) that says what it
   does; the tests hold the two together on random and on real files.  renet
   runs without this module, only slower: it is built where a C compiler is
   there and left out where none is.

   Columns come in as buffers of 64-bit integers and go out as bytearrays of
   them.  No offset is trusted: one that points outside its bytes is an
   IndexError.  Nothing here says what is wrong with a file: whatever is out of
   the ordinary is handed back, and the twin looks at it. */

#define PY_SSIZE_T_CLEAN
#ifndef Py_LIMITED_API
#define Py_LIMITED_API 0x030B0000
#endif
#include <Python.h>

#include <stdint.h>
#include <string.h>

/* With -DPORTABLE as on machines that have no such instructions (scripts/sanitize tries both). */
#if (defined(__SSE2__) || defined(_M_X64)) && !defined(PORTABLE)
#define SIXTEEN_AT_ONCE
#include <emmintrin.h>
#endif

enum { SPACE = 1, PARENTHESIS = 2, DELIMITER = SPACE | PARENTHESIS };
enum { INTERFACE = 1 };  /* see kernel.py */
enum { MAX_DEPTH = 200, MOST_DIGITS = 6, BLOCK = 64 };

static const uint8_t KIND[256] = {
    [' '] = SPACE,  ['\t'] = SPACE, ['\n'] = SPACE,       ['\r'] = SPACE,
    ['\f'] = SPACE, ['\v'] = SPACE, ['('] = PARENTHESIS,  [')'] = PARENTHESIS,
};

static inline int is_space(uint8_t byte) { return KIND[byte] & SPACE; }
static inline int is_delimiter(uint8_t byte) { return KIND[byte] & DELIMITER; }
static inline int is_digit(uint8_t byte) { return (uint8_t)(byte - '0') < 10; }

/* ---- what goes in and what comes out ---- */

typedef struct {
    Py_buffer view;
    const uint8_t *at;
    Py_ssize_t count;
} Bytes;

typedef struct {
    Py_buffer view;
    Py_ssize_t count, step;
} Column;

/* "O&" converters: called once more with NULL when a later argument fails. */

static int to_bytes(PyObject *source, Bytes *out)
{
    if (!source) {
        PyBuffer_Release(&out->view);
        return 1;
    }
    if (PyObject_GetBuffer(source, &out->view, PyBUF_SIMPLE) < 0)
        return 0;
    out->at = out->view.buf;
    out->count = out->view.len;
    return Py_CLEANUP_SUPPORTED;
}

static int to_column(PyObject *source, Column *out)
{
    if (!source) {
        PyBuffer_Release(&out->view);
        return 1;
    }
    if (PyObject_GetBuffer(source, &out->view, PyBUF_STRIDED_RO) < 0)
        return 0;
    if (out->view.ndim != 1 || out->view.itemsize != sizeof(int64_t)) {
        PyBuffer_Release(&out->view);
        PyErr_SetString(PyExc_TypeError, "a column is one row of 64-bit integers");
        return 0;
    }
    out->count = out->view.shape[0];
    out->step = out->view.strides[0];
    return Py_CLEANUP_SUPPORTED;
}

static inline int64_t get(const Column *column, Py_ssize_t row)
{
    int64_t value;
    memcpy(&value, (const char *)column->view.buf + row * column->step, sizeof value);
    return value;
}

static void release(Bytes *bytes, Column *const *columns)
{
    PyBuffer_Release(&bytes->view);
    for (; *columns; columns++)
        PyBuffer_Release(&(*columns)->view);
}

/* Room for ``count`` items as a bytearray, which numpy takes without a copy. */
static PyObject *room(Py_ssize_t count, size_t size, void *items)
{
    PyObject *made = PyByteArray_FromStringAndSize(NULL, count * (Py_ssize_t)size);
    *(char **)items = made ? PyByteArray_AsString(made) : NULL;
    return made;
}

/* A tuple of what was made, or NULL where ``good`` says that it is not to be; lets go of it all. */
static PyObject *packed(PyObject *const *made, Py_ssize_t count, int good)
{
    PyObject *found = good ? PyTuple_New(count) : NULL;
    for (Py_ssize_t i = 0; i < count; i++) {
        if (!found)
            Py_XDECREF(made[i]);
        else if (PyTuple_SetItem(found, i, made[i]) < 0)  /* takes it over either way */
            Py_CLEAR(found);
    }
    return found;
}

static PyObject *outside(void)
{
    PyErr_SetString(PyExc_IndexError, "an offset points outside its bytes");
    return NULL;
}

/* ---- single offsets ---- */

static Py_ssize_t past_space(const Bytes *data, Py_ssize_t at)
{
    while (at < data->count && is_space(data->at[at]))
        at++;
    return at;
}

/* Where the first token of the list that begins at ``start`` stands, -1 outside the bytes. */
static Py_ssize_t word_of(const Bytes *data, int64_t start)
{
    return start < 0 || start >= data->count ? -1 : past_space(data, (Py_ssize_t)start + 1);
}

/* Whether ``text``, if there is any, stands at ``at`` with a delimiter after it. */
static inline int stands(const Bytes *data, int64_t at, const Bytes *text)
{
    return at >= 0 && at < data->count - text->count && text->count && data->at[at] == text->at[0]
        && is_delimiter(data->at[at + text->count])
        && !memcmp(data->at + at, text->at, (size_t)text->count);
}

/* Where the atom that begins at ``at`` ends; ``at`` itself if none does. */
static Py_ssize_t atom_end(const Bytes *data, Py_ssize_t at)
{
    Py_ssize_t end = at;
    if (at < data->count && data->at[at] == '"') {
        for (end++; end < data->count && data->at[end] != '"'; end++)
            end += data->at[end] == '\\';
        return end < data->count ? end + 1 : at;
    }
    while (end < data->count && !is_delimiter(data->at[end]))
        end++;
    return end;
}

/* ---- brackets ---- */

/* The kinds of a block's bytes as bits: bit i is set where byte i is a parenthesis or a quote.
   "(" is the even byte before ")". */
#ifdef SIXTEEN_AT_ONCE
static uint64_t specials(const uint8_t *at)
{
    const __m128i one = _mm_set1_epi8(1), close = _mm_set1_epi8(')'), quote = _mm_set1_epi8('"');
    uint64_t found = 0;
    for (int i = 0; i < BLOCK; i += 16) {
        __m128i bytes = _mm_loadu_si128((const __m128i *)(at + i));
        __m128i either = _mm_or_si128(_mm_cmpeq_epi8(_mm_or_si128(bytes, one), close),
                                      _mm_cmpeq_epi8(bytes, quote));
        found |= (uint64_t)(uint16_t)_mm_movemask_epi8(either) << i;
    }
    return found;
}
#else
#define EACH(byte) (UINT64_C(0x0101010101010101) * (byte))

/* The high bit of every byte that is zero. */
static inline uint64_t zeros(uint64_t bytes)
{
    return ~(((bytes & EACH(0x7F)) + EACH(0x7F)) | bytes | EACH(0x7F));
}

static uint64_t specials(const uint8_t *at)
{
    uint64_t found = 0;
    for (int i = 0; i < BLOCK; i += 8) {
        uint64_t bytes = 0;
        for (int k = 7; k >= 0; k--)  /* one load where the lowest byte comes first */
            bytes = bytes << 8 | at[i + k];
        uint64_t marks = zeros((bytes | EACH(1)) ^ EACH(')')) | zeros(bytes ^ EACH('"'));
        found |= ((marks >> 7) * UINT64_C(0x0102040810204080) >> 56) << i;
    }
    return found;
}
#endif

static int lowest(uint64_t bits)
{
#if defined(__GNUC__)
    return __builtin_ctzll(bits);
#else
    int at = 0;
    for (; !(bits & 1); bits >>= 1)
        at++;
    return at;
#endif
}

typedef struct {
    const uint8_t *data;
    int64_t *start, *end, *strings;
    uint8_t *depth;
    Py_ssize_t lists, quotes;
    Py_ssize_t open[MAX_DEPTH];  /* the lists that are open, outermost first */
    int level;
    Py_ssize_t string;           /* where the string that is open begins, or -1 */
    int parenthesis;             /* whether there is one in it */
    Py_ssize_t closed;           /* the quote that closed the last string, or -1 */
} Scan;

/* Whether an odd number of backslashes stands between ``first`` and ``at``. */
static int escaped(const uint8_t *data, Py_ssize_t first, Py_ssize_t at)
{
    Py_ssize_t run = at;
    while (run > first && data[run - 1] == '\\')
        run--;
    return (at - run) & 1;
}

/* Takes up one special byte; 0 where the twin has to say what is wrong. */
static int take(Scan *scan, Py_ssize_t at)
{
    uint8_t byte = scan->data[at];
    if (scan->string >= 0) {
        if (byte != '"') {
            scan->parenthesis = 1;
        } else if (!escaped(scan->data, scan->string + 1, at)) {
            size_t length = (size_t)(at - scan->string);
            if (scan->parenthesis && memchr(scan->data + scan->string, '\n', length))
                return 0;
            scan->strings[scan->quotes++] = scan->closed = at;
            scan->string = -1;
        }
    } else if (byte == '"') {
        /* Inside a bare atom it is a character like any other. */
        if (!at || is_delimiter(scan->data[at - 1]) || scan->closed == at - 1) {
            scan->strings[scan->quotes++] = scan->string = at;
            scan->parenthesis = 0;
        }
    } else if (byte == '(') {
        if (scan->level == MAX_DEPTH)
            return 0;
        scan->start[scan->lists] = at;
        scan->depth[scan->lists] = (uint8_t)scan->level;
        scan->open[scan->level++] = scan->lists++;
    } else {
        if (!scan->level)
            return 0;
        scan->end[scan->open[--scan->level]] = at + 1;
    }
    return 1;
}

/* Whether the bytes are exactly one well-formed list. */
static int run(Scan *scan, const Bytes *data)
{
    uint8_t tail[BLOCK];
    for (Py_ssize_t begin = 0; begin < data->count; begin += BLOCK) {
        const uint8_t *block = data->at + begin;
        if (data->count - begin < BLOCK) {
            memset(tail, 0, sizeof tail);
            block = memcpy(tail, block, (size_t)(data->count - begin));
        }
        for (uint64_t bits = specials(block); bits; bits &= bits - 1) {
            Py_ssize_t at = begin + lowest(bits);
            if (!take(scan, at))
                return 0;
            if (!scan->level && scan->string < 0)  /* the outermost list is closed */
                return scan->lists && past_space(data, at + 1) == data->count;
        }
    }
    return 0;
}

static Py_ssize_t count_of(const Bytes *data, uint8_t byte)
{
    Py_ssize_t found = 0;
    for (Py_ssize_t at = 0; at < data->count; at++)
        found += data->at[at] == byte;
    return found;
}

/* Cuts a bytearray to what is used of it. */
static int cut(PyObject *made, Py_ssize_t count, size_t size)
{
    return PyByteArray_Resize(made, count * (Py_ssize_t)size);
}

PyDoc_STRVAR(brackets_doc, "brackets(data): start, end, depth, strings of exactly one\n"
                           "well-formed list; None where scan.brackets has to look.");
static PyObject *brackets(PyObject *module, PyObject *args)
{
    Bytes data;
    if (!PyArg_ParseTuple(args, "O&", to_bytes, &data))
        return NULL;
    Scan scan = {.data = data.at, .string = -1, .closed = -1};
    Py_ssize_t lists = count_of(&data, '('), quotes = count_of(&data, '"');
    PyObject *start = room(lists, sizeof(int64_t), &scan.start);
    PyObject *end = room(lists, sizeof(int64_t), &scan.end);
    PyObject *depth = room(lists, 1, &scan.depth);
    PyObject *strings = room(quotes, sizeof(int64_t), &scan.strings);
    int whole = 0, good = start && end && depth && strings;
    if (good) {
        whole = run(&scan, &data);
        good = whole && !cut(start, scan.lists, sizeof(int64_t))
            && !cut(end, scan.lists, sizeof(int64_t)) && !cut(depth, scan.lists, 1)
            && !cut(strings, scan.quotes, sizeof(int64_t));
    }
    PyObject *found = packed((PyObject *[]){start, end, depth, strings}, 4, good);
    PyBuffer_Release(&data.view);
    return found || whole || PyErr_Occurred() ? found : Py_NewRef(Py_None);
}

/* ---- lists by list number ---- */

PyDoc_STRVAR(children_doc, "children(depth, lists): the children of ascending lists, none inside\n"
                           "another, and the position in lists of the parent of each.");
static PyObject *children(PyObject *module, PyObject *args)
{
    Bytes depth;
    Column lists;
    if (!PyArg_ParseTuple(args, "O&O&", to_bytes, &depth, to_column, &lists))
        return NULL;
    PyObject *kids = NULL, *owner = NULL;
    int64_t *kid = NULL, *own = NULL;
    int good = 0;
    for (int pass = 0; pass < 2; pass++) {  /* the first one counts */
        Py_ssize_t count = 0;
        for (Py_ssize_t row = 0; row < lists.count; row++) {
            int64_t list = get(&lists, row);
            if (list < 0 || list >= depth.count) {
                outside();
                goto done;
            }
            int level = depth.at[list];
            for (Py_ssize_t i = (Py_ssize_t)list + 1; i < depth.count && depth.at[i] > level; i++) {
                if (depth.at[i] != level + 1)
                    continue;
                if (pass) {
                    kid[count] = i;
                    own[count] = row;
                }
                count++;
            }
        }
        if (!pass) {
            kids = room(count, sizeof(int64_t), &kid);
            owner = room(count, sizeof(int64_t), &own);
            if (!kids || !owner)
                goto done;
        }
    }
    good = 1;
done:
    release(&depth, (Column *[]){&lists, NULL});
    return packed((PyObject *[]){kids, owner}, 2, good);
}

PyDoc_STRVAR(words_doc, "words(data, start, lists): where the first token of each list stands.");
static PyObject *words(PyObject *module, PyObject *args)
{
    Bytes data;
    Column start, lists;
    int64_t *word;
    if (!PyArg_ParseTuple(args, "O&O&O&", to_bytes, &data, to_column, &start, to_column, &lists))
        return NULL;
    PyObject *found = room(lists.count, sizeof(int64_t), &word);
    for (Py_ssize_t row = 0; found && row < lists.count; row++) {
        int64_t list = get(&lists, row);
        int known = list >= 0 && list < start.count;
        word[row] = known ? word_of(&data, get(&start, (Py_ssize_t)list)) : -1;
        if (word[row] < 0) {
            Py_CLEAR(found);
            outside();
        }
    }
    release(&data, (Column *[]){&start, &lists, NULL});
    return found;
}

PyDoc_STRVAR(inners_doc, "inners(data, start, end, lists, length): what stands in each list after\n"
                         "a keyword of that length, without white space at either end, as pairs;\n"
                         "(-1, -1) for list -1.");
static PyObject *inners(PyObject *module, PyObject *args)
{
    Bytes data;
    Column start, end, lists;
    Py_ssize_t length;
    int64_t *span;
    if (!PyArg_ParseTuple(args, "O&O&O&O&n", to_bytes, &data, to_column, &start, to_column, &end,
                          to_column, &lists, &length))
        return NULL;
    PyObject *found = room(2 * lists.count, sizeof(int64_t), &span);
    for (Py_ssize_t row = 0; found && row < lists.count; row++, span += 2) {
        int64_t list = get(&lists, row);
        span[0] = span[1] = -1;
        if (list < 0)
            continue;
        int known = list < start.count && list < end.count;
        Py_ssize_t word = known ? word_of(&data, get(&start, (Py_ssize_t)list)) : -1;
        int64_t stop = known ? get(&end, (Py_ssize_t)list) : -1;
        if (word < 0 || stop < 1 || stop > data.count || length < 0 || length > data.count - word) {
            Py_CLEAR(found);
            outside();
            break;
        }
        Py_ssize_t first = past_space(&data, word + length), last = (Py_ssize_t)stop - 1;
        while (last > first && is_space(data.at[last - 1]))
            last--;
        span[0] = first;
        span[1] = last > first ? last : first;
    }
    release(&data, (Column *[]){&start, &end, &lists, NULL});
    return found;
}

/* ---- tokens at offsets ---- */

PyDoc_STRVAR(tokens_doc, "tokens(data, at, text): positions in at of the offsets where text stands\n"
                         "with a delimiter after it.");
static PyObject *tokens(PyObject *module, PyObject *args)
{
    Bytes data, text;
    Column at;
    int64_t *row_of;
    if (!PyArg_ParseTuple(args, "O&O&O&", to_bytes, &data, to_column, &at, to_bytes, &text))
        return NULL;
    PyObject *found = room(at.count, sizeof(int64_t), &row_of);
    Py_ssize_t count = 0;
    for (Py_ssize_t row = 0; found && row < at.count; row++)
        if (stands(&data, get(&at, row), &text))
            row_of[count++] = row;
    if (found && cut(found, count, sizeof(int64_t)) < 0)
        Py_CLEAR(found);
    PyBuffer_Release(&text.view);
    release(&data, (Column *[]){&at, NULL});
    return found;
}

PyDoc_STRVAR(firsts_doc, "firsts(data, at, kids, owner, text, count): for each of count owners the\n"
                         "first of its kids at whose offset text stands, -1 where there is none.");
static PyObject *firsts(PyObject *module, PyObject *args)
{
    Bytes data, text;
    Column at, kids, owner;
    Py_ssize_t count;
    int64_t *first;
    if (!PyArg_ParseTuple(args, "O&O&O&O&O&n", to_bytes, &data, to_column, &at, to_column, &kids,
                          to_column, &owner, to_bytes, &text, &count))
        return NULL;
    PyObject *found = NULL;
    if (kids.count != at.count || owner.count != at.count || count < 0) {
        outside();
    } else {
        found = room(count, sizeof(int64_t), &first);
        if (found)
            memset(first, 0xFF, (size_t)count * sizeof(int64_t));
        for (Py_ssize_t row = at.count - 1; found && row >= 0; row--) {
            if (!stands(&data, get(&at, row), &text))
                continue;
            int64_t own = get(&owner, row);
            if (own < 0 || own >= count) {
                Py_CLEAR(found);
                outside();
                break;
            }
            first[own] = get(&kids, row);
        }
    }
    PyBuffer_Release(&text.view);
    release(&data, (Column *[]){&at, &kids, &owner, NULL});
    return found;
}

PyDoc_STRVAR(past_spaces_doc, "past_spaces(data, at): where the next token begins at or after each.");
static PyObject *past_spaces(PyObject *module, PyObject *args)
{
    Bytes data;
    Column at;
    int64_t *token;
    if (!PyArg_ParseTuple(args, "O&O&", to_bytes, &data, to_column, &at))
        return NULL;
    PyObject *found = room(at.count, sizeof(int64_t), &token);
    for (Py_ssize_t row = 0; found && row < at.count; row++) {
        int64_t from = get(&at, row);
        if (from < 0) {
            Py_CLEAR(found);
            outside();
            break;
        }
        token[row] = past_space(&data, (Py_ssize_t)from);
    }
    release(&data, (Column *[]){&at, NULL});
    return found;
}

PyDoc_STRVAR(atoms_doc, "atoms(data, at): the atom that begins at each offset, as pairs; (-1, -1)\n"
                        "where none does.");
static PyObject *atoms(PyObject *module, PyObject *args)
{
    Bytes data;
    Column at;
    int64_t *span;
    if (!PyArg_ParseTuple(args, "O&O&", to_bytes, &data, to_column, &at))
        return NULL;
    PyObject *found = room(2 * at.count, sizeof(int64_t), &span);
    for (Py_ssize_t row = 0; found && row < at.count; row++, span += 2) {
        int64_t begin = get(&at, row);
        Py_ssize_t end = begin < 0 ? -1 : atom_end(&data, (Py_ssize_t)begin);
        int there = begin >= 0 && end > begin;
        span[0] = there ? begin : -1;
        span[1] = there ? end : -1;
    }
    release(&data, (Column *[]){&at, NULL});
    return found;
}

/* Whether ``text`` is one of the bare atoms between two offsets without lists between them. */
static int among(const Bytes *data, Py_ssize_t at, Py_ssize_t stop, const Bytes *text)
{
    while ((at = past_space(data, at)) < stop) {
        if (stands(data, at, text))
            return 1;
        Py_ssize_t end = atom_end(data, at);
        at = end > at ? end : stop;
    }
    return 0;
}

PyDoc_STRVAR(holding_doc, "holding(data, start, end, lists, kids, owner, text): positions in lists\n"
                          "of those with kids that have text as a bare atom besides their keyword.");
static PyObject *holding(PyObject *module, PyObject *args)
{
    Bytes data, text;
    Column start, end, lists, kids, owner;
    int64_t *position;
    if (!PyArg_ParseTuple(args, "O&O&O&O&O&O&O&", to_bytes, &data, to_column, &start, to_column,
                          &end, to_column, &lists, to_column, &kids, to_column, &owner, to_bytes,
                          &text))
        return NULL;
    PyObject *found = room(lists.count, sizeof(int64_t), &position);
    Py_ssize_t count = 0, all = start.count < end.count ? start.count : end.count;
    Py_ssize_t kid = 0, many = kids.count < owner.count ? kids.count : owner.count;
    while (found && kid < many) {
        int64_t own = get(&owner, kid);
        int64_t list = own < 0 || own >= lists.count ? -1 : get(&lists, (Py_ssize_t)own);
        int known = list >= 0 && list < all && count < lists.count, held = 0;
        Py_ssize_t word = known ? word_of(&data, get(&start, (Py_ssize_t)list)) : -1;
        Py_ssize_t at = word < 0 ? -1 : atom_end(&data, word);
        for (; at >= 0 && kid < many && get(&owner, kid) == own; kid++) {
            int64_t child = get(&kids, kid);
            if (child < 0 || child >= all) {
                at = -1;
                break;
            }
            held = held || among(&data, at, (Py_ssize_t)get(&start, (Py_ssize_t)child), &text);
            at = (Py_ssize_t)get(&end, (Py_ssize_t)child);
        }
        if (at < 0) {
            Py_CLEAR(found);
            outside();
        } else if (held || among(&data, at, (Py_ssize_t)get(&end, (Py_ssize_t)list) - 1, &text)) {
            position[count++] = own;
        }
    }
    if (found && cut(found, count, sizeof(int64_t)) < 0)
        Py_CLEAR(found);
    PyBuffer_Release(&text.view);
    release(&data, (Column *[]){&start, &end, &lists, &kids, &owner, NULL});
    return found;
}

/* ---- numbers ---- */

static Py_ssize_t past_digits(const Bytes *data, Py_ssize_t at, int64_t *value)
{
    for (*value = 0; at < data->count && is_digit(data->at[at]); at++)
        *value = *value * 10 + (data->at[at] - '0');
    return at;
}

/* ``-dddddd.dddddd`` with at most six and six digits in millionths; 0 for all else. */
static int decimal(const Bytes *data, Py_ssize_t at, int64_t *value, int64_t *end)
{
    static const int32_t TENS[MOST_DIGITS + 1] = {1000000, 100000, 10000, 1000, 100, 10, 1};
    int64_t whole, fraction = 0;
    int minus = at < data->count && data->at[at] == '-';
    Py_ssize_t first = at + minus, point, last, digits = 0;
    Bytes near = {.at = data->at, .count = data->count};
    if (near.count - first > 2 * MOST_DIGITS + 4)
        near.count = first + 2 * MOST_DIGITS + 4;  /* more digits than that are not plain */
    point = last = past_digits(&near, first, &whole);
    if (point < data->count && data->at[point] == '.') {
        last = past_digits(&near, point + 1, &fraction);
        digits = last - point - 1;
    }
    if (point == first || point - first > MOST_DIGITS || digits > MOST_DIGITS
        || last >= data->count || !is_delimiter(data->at[last]))
        return 0;
    whole = whole * TENS[0] + fraction * TENS[digits];
    *value = minus ? -whole : whole;
    *end = last;
    return 1;
}

PyDoc_STRVAR(decimals_doc, "decimals(data, at): value in millionths, offset after it, and whether a\n"
                           "plain decimal number stands there, of each offset.");
static PyObject *decimals(PyObject *module, PyObject *args)
{
    Bytes data;
    Column at;
    int64_t *value, *end;
    uint8_t *good;
    if (!PyArg_ParseTuple(args, "O&O&", to_bytes, &data, to_column, &at))
        return NULL;
    PyObject *values = room(at.count, sizeof(int64_t), &value);
    PyObject *ends = room(at.count, sizeof(int64_t), &end);
    PyObject *goods = room(at.count, 1, &good);
    int made = values && ends && goods;
    for (Py_ssize_t row = 0; made && row < at.count; row++) {
        int64_t from = get(&at, row);
        value[row] = 0;
        end[row] = from;
        good[row] = from >= 0 && decimal(&data, (Py_ssize_t)from, value + row, end + row);
    }
    release(&data, (Column *[]){&at, NULL});
    return packed((PyObject *[]){values, ends, goods}, 3, made);
}

/* ---- equal texts ---- */

static uint64_t mix(const uint8_t *at, Py_ssize_t size)
{
    uint64_t hash = 0x9E3779B97F4A7C15u ^ (uint64_t)size, word;
    for (; size >= 8; at += 8, size -= 8) {
        memcpy(&word, at, 8);
        hash = (hash ^ word) * 0xFF51AFD7ED558CCDu;
        hash ^= hash >> 32;
    }
    for (word = 0; size > 0; size--)
        word = word << 8 | at[size - 1];
    hash = (hash ^ word) * 0xC4CEB9FE1A85EC53u;
    return hash ^ hash >> 29;
}

typedef struct {
    const Bytes *data;
    int64_t *code, *first;
    const Column *begin, *end;
    Py_ssize_t count;
    uint32_t *slot;   /* number of a group + 1, by hash; a power of two of them */
    size_t mask;
} Grouping;

/* The span of a row; empty where it ends before it begins. */
static int span_of(const Grouping *all, Py_ssize_t row, const uint8_t **at, Py_ssize_t *size)
{
    int64_t begin = get(all->begin, row), end = get(all->end, row);
    *at = all->data->at;
    *size = 0;
    if (end <= begin)
        return 1;
    if (begin < 0 || end > all->data->count)
        return 0;
    *at += begin;
    *size = (Py_ssize_t)(end - begin);
    return 1;
}

enum grouped { DONE, OUTSIDE, TOO_MANY_ALIKE };

/* Gives every row the number of its text, by first appearance.

   A file could be made whose texts all hash alike, and take forever: no more
   looks than a hash that spreads them could need. */
static enum grouped group(Grouping *all)
{
    Py_ssize_t looks = 1000 + 16 * all->begin->count;
    for (Py_ssize_t row = 0; row < all->begin->count; row++) {
        const uint8_t *at, *other = NULL;
        Py_ssize_t size, length;
        if (!span_of(all, row, &at, &size))
            return OUTSIDE;
        for (size_t place = (size_t)mix(at, size) & all->mask;; place = (place + 1) & all->mask) {
            uint32_t number = all->slot[place];
            if (!number) {
                all->first[all->count] = row;
                all->slot[place] = (uint32_t)++all->count;
                all->code[row] = all->count - 1;
                break;
            }
            if (!looks--)
                return TOO_MANY_ALIKE;
            span_of(all, (Py_ssize_t)all->first[number - 1], &other, &length);
            if (size == length && !memcmp(at, other, (size_t)size)) {
                all->code[row] = number - 1;
                break;
            }
        }
    }
    return DONE;
}

PyDoc_STRVAR(groups_doc, "groups(data, begin, end): which spans hold equal bytes: the number of its\n"
                         "text for each, and the row in which each text appears first; None where\n"
                       "too many texts hash alike.");
static PyObject *groups(PyObject *module, PyObject *args)
{
    Bytes data;
    Column begin, end;
    if (!PyArg_ParseTuple(args, "O&O&O&", to_bytes, &data, to_column, &begin, to_column, &end))
        return NULL;
    Grouping all = {.data = &data, .begin = &begin, .end = &end};
    size_t slots = 64;
    while (slots < 2 * (size_t)begin.count)
        slots *= 2;
    all.mask = slots - 1;
    PyObject *codes = room(begin.count, sizeof(int64_t), &all.code);
    PyObject *rows = room(begin.count, sizeof(int64_t), &all.first);
    enum grouped how = OUTSIDE;
    int good = 0;
    all.slot = PyMem_Calloc(slots, sizeof *all.slot);
    if (!all.slot)
        PyErr_NoMemory();
    else if (codes && rows) {
        int fits = end.count == begin.count && (uint64_t)begin.count < UINT32_MAX;
        how = fits ? group(&all) : OUTSIDE;
        if (how == OUTSIDE)
            outside();
        else
            good = how == DONE && !cut(rows, all.count, sizeof(int64_t));
    }
    PyMem_Free(all.slot);
    release(&data, (Column *[]){&begin, &end, NULL});
    PyObject *found = packed((PyObject *[]){codes, rows}, 2, good);
    return how == TOO_MANY_ALIKE ? Py_NewRef(Py_None) : found;
}

/* ---- module ---- */

static PyMethodDef FUNCTIONS[] = {
    {"atoms", atoms, METH_VARARGS, atoms_doc},
    {"brackets", brackets, METH_VARARGS, brackets_doc},
    {"children", children, METH_VARARGS, children_doc},
    {"decimals", decimals, METH_VARARGS, decimals_doc},
    {"firsts", firsts, METH_VARARGS, firsts_doc},
    {"groups", groups, METH_VARARGS, groups_doc},
    {"holding", holding, METH_VARARGS, holding_doc},
    {"inners", inners, METH_VARARGS, inners_doc},
    {"past_spaces", past_spaces, METH_VARARGS, past_spaces_doc},
    {"tokens", tokens, METH_VARARGS, tokens_doc},
    {"words", words, METH_VARARGS, words_doc},
    {NULL, NULL, 0, NULL},
};

static struct PyModuleDef MODULE = {
    PyModuleDef_HEAD_INIT, .m_name = "_kernel",
    .m_doc = "Many offsets into the bytes of a file, looked at in one compiled pass.",
    .m_size = 0, .m_methods = FUNCTIONS,
};

PyMODINIT_FUNC PyInit__kernel(void)
{
    PyObject *module = PyModule_Create(&MODULE);
    if (module && PyModule_AddIntConstant(module, "INTERFACE", INTERFACE) < 0)
        Py_CLEAR(module);
    return module;
}
