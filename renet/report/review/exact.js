// Arithmetic that gives the very figures that the command line gives.
// Coordinates are whole nanometres less than 2**31 apart.

const SAFE = 2 ** 53;

function squared(dx, dy) {
  return BigInt(dx) * BigInt(dx) + BigInt(dy) * BigInt(dy);
}

// The sign of (b - a) x (c - a): floating point where that is certain, whole numbers where not.
function turn(ax, ay, bx, by, cx, cy) {
  const left = (bx - ax) * (cy - ay), right = (by - ay) * (cx - ax);
  const difference = left - right, size = Math.abs(left) + Math.abs(right);
  if (size < SAFE || Math.abs(difference) > 4e-16 * size) return Math.sign(difference);
  const exact = BigInt(bx - ax) * BigInt(cy - ay) - BigInt(by - ay) * BigInt(cx - ax);
  return exact > 0n ? 1 : exact < 0n ? -1 : 0;
}

// The order of two edges by (squared length, lower end, upper end); negative when e comes first.
// An edge is {d, a, b}: d is the rounded square, a < b are points of xs and ys.
function order(e, f, xs, ys) {
  const sum = e.d + f.d;
  if (e.d !== f.d && (sum < SAFE || Math.abs(e.d - f.d) > 1e-15 * sum)) return e.d - f.d;
  if (sum >= SAFE) {
    const one = squared(xs[e.a] - xs[e.b], ys[e.a] - ys[e.b]);
    const two = squared(xs[f.a] - xs[f.b], ys[f.a] - ys[f.b]);
    if (one !== two) return one < two ? -1 : 1;
  }
  return e.a - f.a || e.b - f.b;
}

// The square root of a whole number below 2**64, rounded once: the integer root keeps a sticky bit.
function bigRoot(square) {
  const wide = square << 64n;
  let root = BigInt(Math.floor(Math.sqrt(Number(wide))));
  for (let step = 1n; step; ) {
    const next = (root + wide / root) >> 1n;
    step = next - root;
    if (step === 1n || step === -1n) step = 0n;
    root = next;
  }
  while (root * root > wide) root -= 1n;
  while ((root + 1n) * (root + 1n) <= wide) root += 1n;
  return Number(root * root === wide ? root : root | 1n) / 2 ** 32;
}

// The length of a segment: {once} correctly rounded, {twice} the root of the rounded square.
function lengths(dx, dy) {
  const square = dx * dx + dy * dy;
  if (square < SAFE) return { once: Math.sqrt(square), twice: Math.sqrt(square) };
  const exact = squared(dx, dy);
  return { once: bigRoot(exact), twice: Math.sqrt(Number(exact)) };
}

// A sum of floating-point numbers, rounded once, whatever their order: partial sums that do
// not overlap (J. R. Shewchuk, Adaptive precision floating-point arithmetic, 1997).
function exactSum(values) {
  const parts = [];
  for (let x of values) {
    let kept = 0;
    for (let y of parts) {
      if (Math.abs(x) < Math.abs(y)) [x, y] = [y, x];
      const high = x + y, low = y - (high - x);
      if (low) parts[kept++] = low;
      x = high;
    }
    parts.length = kept;
    parts.push(x);
  }
  let n = parts.length, high = n ? parts[--n] : 0, low = 0;
  while (n > 0 && !low) {
    const x = high, y = parts[--n];
    high = x + y;
    low = y - (high - x);
  }
  if (n > 0 && low && Math.sign(low) === Math.sign(parts[n - 1])) {
    const x = high + low * 2;
    if (x - high === low * 2) high = x;
  }
  return high;
}

// Six decimals of a number; exact ties go to the even digit.
function six(value) {
  const digits = Math.abs(value).toFixed(60), dot = digits.indexOf(".");
  let text = Math.abs(value).toFixed(6);
  if (/^50*$/.test(digits.slice(dot + 7))) {
    const down = digits.slice(0, dot + 7);
    if ("02468".includes(down.at(-1))) text = down;
  }
  return value < 0 ? -Number(text) || 0 : Number(text);
}
