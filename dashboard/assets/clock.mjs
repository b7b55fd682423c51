// Times as people read and type them. Seconds from the start of the recording throughout.

// 62.49 -> "1:02.4"; 3723.5 -> "1:02:03.5". Cut, not rounded: a clock never shows an instant that has not come yet.
export function formatClock(time_s, decimals = 1) {
  const scale = 10 ** decimals;
  const ticks = Math.floor(Math.max(time_s, 0) * scale + 1e-6);
  const whole = Math.floor(ticks / scale);
  const part = decimals > 0 ? `.${String(ticks % scale).padStart(decimals, "0")}` : "";
  const seconds = String(whole % 60).padStart(2, "0");
  const minutes = Math.floor(whole / 60) % 60;
  const hours = Math.floor(whole / 3600);
  return hours > 0 ? `${hours}:${String(minutes).padStart(2, "0")}:${seconds}${part}` : `${minutes}:${seconds}${part}`;
}

// "1:02.5", "62.5", "1:02:03" -> seconds; null when it is not a time.
export function parseClock(text) {
  const parts = text.trim().split(":");
  if (parts.length > 3) return null;
  if (!parts.slice(0, -1).every((p) => /^\d+$/.test(p))) return null;
  if (!/^\d+(\.\d*)?$/.test(parts[parts.length - 1])) return null;
  return parts.reduce((sum, part) => sum * 60 + Number(part), 0);
}

// Seconds as the panel shows them: milliseconds are what a hand can correct.
export function formatSeconds(time_s) {
  return time_s.toFixed(3);
}
