// The fold: from a time to a place on the page and back.
//
// Aim: answer "which row, and how far along it" for the running cursor sixty times a second, and "which time" for a click.
// Conventions:
//   * times in seconds from the start of the recording; rows in order of time;
//   * a row is {first, t}: `t` holds the time of each of its columns and, last, the time where the row ends (n columns,
//     n + 1 times); `first` is the number of its first column, counted from 1 (1 unless the row begins in mid-cycle);
//   * x counts columns from the left edge: matra 1 (sam) is x = 0, matra 3 1/2 is x = 2.5.
// Between two columns the fold is linear, as the grid is between two matras.

// Index of the last element of `values` (ascending) that is <= `value`; -1 when there is none.
export function lastAtOrBefore(values, value, at = (v) => v) {
  let low = -1;
  let high = values.length;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (at(values[middle]) <= value) low = middle;
    else high = middle;
  }
  return low;
}

// The place of a time: {row, x}, or null outside all rows (before the first, after the last, or in a gap between two).
export function locate(rows, time_s) {
  const row = lastAtOrBefore(rows, time_s, (r) => r.t[0]);
  if (row < 0) return null;
  const { t, first } = rows[row];
  const last = t.length - 1;
  if (time_s > t[last]) return null;
  const column = Math.min(lastAtOrBefore(t, time_s), last - 1);
  const part = (time_s - t[column]) / (t[column + 1] - t[column]);
  return { row, x: first - 1 + column + part };
}

// The time of a place; x outside the row's columns gives the row's first or last instant.
export function timeAt(rows, row, x) {
  const { t, first } = rows[row];
  const along = Math.min(Math.max(x - (first - 1), 0), t.length - 1);
  const column = Math.min(Math.floor(along), t.length - 2);
  return t[column] + (along - column) * (t[column + 1] - t[column]);
}

// The time `steps` columns later (or earlier, when negative), going on into the next rows; clamped to the rows there are.
export function stepColumns(rows, time_s, steps) {
  const place = locate(rows, time_s);
  if (place === null) return time_s;
  let { row } = place;
  // standing within a twentieth of a column counts as standing on it
  let x = steps > 0 ? Math.floor(place.x + 0.05) + steps : Math.ceil(place.x - 0.05) + steps;
  for (;;) {
    const { t, first } = rows[row];
    const end = first - 1 + t.length - 1;
    if (x >= end && row + 1 < rows.length) {
      x = x - end + rows[row + 1].first - 1;
      row += 1;
    } else if (x < first - 1 && row > 0) {
      const before = rows[row - 1];
      x = before.first - 1 + before.t.length - 1 - (first - 1 - x);
      row -= 1;
    } else {
      return timeAt(rows, row, x);
    }
  }
}

// The time of the next (or previous) row's start: an avartan forward or back.
export function stepRows(rows, time_s, steps) {
  const place = locate(rows, time_s);
  const row = place === null ? lastAtOrBefore(rows, time_s, (r) => r.t[0]) : place.row;
  const back = steps < 0 && place !== null && place.x - (rows[row].first - 1) > 0.5 ? 1 : 0;
  const wanted = Math.min(Math.max(row + steps + back, 0), rows.length - 1);
  return rows[wanted].t[0];
}
