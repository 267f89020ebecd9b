/** Where things stand in the hinge strip; lengths in mm, places in px. Nothing here knows of a page. */

export interface Strip {
  span: number; // between the posts' inner faces
  keyLength: number;
  gapUpper: number; // face gap with the key pushed home that way
  gapLower: number;
  play: number; // below 0: bind
  playDoubt: number;
  low: number; // the window
  high: number;
  after: number | null; // end play the first plan leads to
  cutUpper: number; // seat cut (moves the stop inwards), > 0
  cutLower: number;
  padStation: number | null; // from the key's upper end
  toneHole: number;
  padGap: number | null; // what opens at its rim, at worst
}

/** The largest of 1, 2, 5, 10, ... (and tenths) that is at most `most`. */
export function niceAtMost(most: number): number {
  if (!(most > 0) || !Number.isFinite(most)) return 1;
  const power = 10 ** Math.floor(Math.log10(most));
  for (const step of [5, 2, 1]) if (step * power <= most * (1 + 1e-12)) return step * power;
  return power;
}

export interface Lens {
  home: number; // px from the post's face to the key's end when pushed home
  away: number; // and when pushed the other way
  cut: number; // px of metal
}
export interface Layout {
  scale: number; // px per mm in the strip
  factor: number; // of the lenses, against the strip
  upperFace: number; // px
  lowerFace: number;
  keyFrom: number;
  keyTo: number;
  lens: {upper: Lens; lower: Lens};
  gauge: {from: number; to: number; step: number}; // mm
}

export function layOut(s: Strip, width: number, lensRoom: number): Layout {
  const side = Math.max(28, width * 0.06);
  const scale = (width - 2 * side) / Math.max(s.span, 1e-6);
  const free = Math.max(0, s.play);
  const gap = (g: number) => Math.max(0, Number.isFinite(g) ? g : 0);
  const reach = Math.max(gap(s.gapUpper), gap(s.gapLower)) + Math.max(free, s.cutUpper, s.cutLower, -s.play, 0.005);
  const factor = niceAtMost(lensRoom / reach / scale);
  const lens = (g: number, cut: number): Lens => ({
    home: gap(g) * scale * factor,
    away: (gap(g) + free) * scale * factor,
    cut: Math.max(0, cut) * scale * factor,
  });
  // In the middle of its free range, and never beyond a post for a gap that does not agree with the other measures.
  const room = Math.max(0, s.span - s.keyLength);
  const begin = Math.min(Math.max(gap(s.gapUpper) + s.play / 2, 0), room);
  const to = Math.max(s.play + s.playDoubt, s.high, s.after ?? 0) * 1.15 || 0.05;
  const from = Math.min(0, s.play - s.playDoubt) * 1.15;
  return {
    scale,
    factor,
    upperFace: side,
    lowerFace: side + s.span * scale,
    keyFrom: side + begin * scale,
    keyTo: side + (begin + Math.min(s.keyLength, s.span)) * scale,
    lens: {upper: lens(s.gapUpper, s.cutUpper), lower: lens(s.gapLower, s.cutLower)},
    gauge: {from, to, step: niceAtMost((to - from) / 5)},
  };
}
