/** Ids as the book takes them: UUIDs of version 7 (RFC 9562), made here, ascending by time of making. */

/** What ids are made from; tests give their own. */
export interface Source {
  now(): number;
  random(bytes: Uint8Array): void;
}

const machine: Source = {
  now: () => Date.now(),
  random: (bytes) => void crypto.getRandomValues(bytes),
};

/** Ids of one maker ascend also within a millisecond, and when the clock is set back. */
export function maker(source: Source = machine): () => string {
  let last = 0;
  let count = 0;
  return () => {
    const now = Math.floor(source.now());
    const bytes = new Uint8Array(16);
    source.random(bytes);
    if (now > last) {
      last = now;
      count = (((bytes[6] ?? 0) & 0x07) << 8) | (bytes[7] ?? 0); // half of its range is left to count up in
    } else if (++count > 0xfff) {
      last += 1;
      count = 0;
    }
    let time = last;
    for (let i = 5; i >= 0; --i) {
      bytes[i] = time % 256;
      time = Math.floor(time / 256);
    }
    bytes[6] = 0x70 | (count >> 8);
    bytes[7] = count & 0xff;
    bytes[8] = 0x80 | ((bytes[8] ?? 0) & 0x3f);
    const hex = Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  };
}

export const newId = maker();
