/** The hinge strip: a key between its two posts, to scale, with a lens at each end. */
import {useEffect, useRef, useState} from "preact/hooks";
import {choices} from "../units/choices";
import {bareLength, showLength, showNumber, inUnit, decimals} from "../units/units";
import {t} from "../words/words";
import {Layout, Strip, layOut} from "./layout";

export function useWidth(first: number): [preact.RefObject<HTMLDivElement>, number] {
  const box = useRef<HTMLDivElement>(null);
  const [width, set] = useState(first);
  useEffect(() => {
    const element = box.current;
    if (!element) return undefined;
    const look = () => set(Math.round(element.clientWidth));
    look();
    const watch = new ResizeObserver(look);
    watch.observe(element);
    return () => watch.disconnect();
  }, []);
  return [box, width];
}

interface EndProps {
  side: "upper" | "lower";
  cx: number;
  cy: number;
  radius: number;
  face: number; // from the lens' centre outwards
  at: Layout["lens"]["upper"];
  bind: number; // px
}

function LensOf({side, cx, cy, radius, face, at, bind}: EndProps) {
  const way = side === "upper" ? 1 : -1;
  const clip = `lens-${side}`;
  const x0 = cx - way * face;
  const box = (from: number, to: number, top: number, height: number, cls: string) => {
    const a = x0 + way * from;
    const b = x0 + way * to;
    return <rect class={cls} x={Math.min(a, b)} y={top} width={Math.abs(b - a)} height={height} />;
  };
  const half = radius * 0.62;
  const far = radius * 2.2;
  return (
    <g>
      <clipPath id={clip}><circle cx={cx} cy={cy} r={radius} /></clipPath>
      <circle class="lens-glass" cx={cx} cy={cy} r={radius} />
      <g clip-path={`url(#${clip})`}>
        {box(-far, 0, cy - radius, 2 * radius, "post")}
        {box(at.away, far, cy - half, 2 * half, "key-metal")}
        {at.away > at.home && box(at.home, at.away, cy - half, 2 * half, "free-range")}
        {at.cut > 0 && box(at.home, at.home + at.cut, cy - half, half, "cut")}
        {bind > 0 && box(at.home - bind, at.home, cy, half, "bind")}
        <line class="axis" x1={cx - radius} x2={cx + radius} y1={cy} y2={cy} />
        <line class="edge" x1={x0} x2={x0} y1={cy - radius} y2={cy + radius} />
        <line class="home" x1={x0 + way * at.home} x2={x0 + way * at.home} y1={cy - half} y2={cy + half} />
      </g>
      <circle class="lens-rim" cx={cx} cy={cy} r={radius} />
    </g>
  );
}

export function HingeStrip({name, strip}: {name: string; strip: Strip}) {
  const [box, width] = useWidth(Math.min(1100, Math.max(300, window.innerWidth - 32)));
  const w = Math.max(280, width);
  const narrow = w < 620;
  const radius = narrow ? Math.min(78, w * 0.21) : 96;
  const lensY = radius + 6;
  const face = radius * 0.45;
  const l = layOut(strip, w, radius * 1.15);
  const axis = lensY + radius + (narrow ? 112 : 70);
  const tube = narrow ? 11 : 15;
  const post = narrow ? 16 : 22;
  const cx = {upper: radius + 4, lower: w - radius - 4};
  const bind = Math.max(0, -strip.play) * l.scale * l.factor;
  const middle = w / 2;
  const gaugeY = axis + (narrow ? 172 : 100);
  const height = gaugeY + 46;
  const gx = (mm: number) => 18 + ((mm - l.gauge.from) / (l.gauge.to - l.gauge.from)) * (w - 36);
  const ticks: number[] = [];
  for (let k = Math.ceil(l.gauge.from / l.gauge.step - 1e-9); k * l.gauge.step <= l.gauge.to; ++k) ticks.push(k * l.gauge.step);
  const unit = choices.value.unit;
  const barMm = unit === "mm" ? 10 : 12.7;
  const padX = strip.padStation === null ? null : l.keyFrom + strip.padStation * l.scale;
  const say = t("draw.name", {
    key: name, upper: showLength(strip.gapUpper), lower: showLength(strip.gapLower), play: showLength(strip.play),
    low: bareLength(strip.low), high: showLength(strip.high),
  });
  const ray = (side: "upper" | "lower", x: number) => (
    <path class="ray" d={`M${cx[side] - radius * 0.5} ${lensY + radius * 0.87} L${x} ${axis - tube - 4}` +
      ` M${cx[side] + radius * 0.5} ${lensY + radius * 0.87} L${x} ${axis - tube - 4}`} />
  );
  const words = (side: "upper" | "lower", gap: number, cut: number) => {
    const x = narrow ? cx[side] : side === "upper" ? cx.upper + radius + 12 : cx.lower - radius - 12;
    const anchor = narrow ? "middle" : side === "upper" ? "start" : "end";
    const y = narrow ? lensY + radius + 18 : lensY - 22;
    return (
      <text class="say" x={x} y={y} text-anchor={anchor}>
        <tspan class="strong" x={x}>{t(side === "upper" ? "draw.upper" : "draw.lower")}</tspan>
        <tspan x={x} dy="1.3em">{t("draw.gap", {gap: showLength(gap)})}</tspan>
        {cut > 0 && <tspan x={x} dy="1.3em">{t("draw.cut", {cut: showLength(cut)})}</tspan>}
      </text>
    );
  };
  return (
    <div class="strip" ref={box}>
      <svg role="img" aria-label={say} viewBox={`0 0 ${w} ${height}`} width={w} height={height}>
        <defs>
          <pattern id="hatch" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
            <rect class="hatch-ground" width="6" height="6" /><line class="hatch-line" x1="0" x2="0" y1="0" y2="6" />
          </pattern>
          <pattern id="dots" width="5" height="5" patternUnits="userSpaceOnUse">
            <circle class="dot" cx="1.5" cy="1.5" r="1" />
          </pattern>
        </defs>
        {ray("upper", l.upperFace)}
        {ray("lower", l.lowerFace)}
        <LensOf side="upper" cx={cx.upper} cy={lensY} radius={radius} face={face} at={l.lens.upper} bind={bind} />
        <LensOf side="lower" cx={cx.lower} cy={lensY} radius={radius} face={face} at={l.lens.lower} bind={0} />
        {words("upper", strip.gapUpper, strip.cutUpper)}
        {words("lower", strip.gapLower, strip.cutLower)}
        {!narrow && <text class="faint" x={middle} y={lensY + radius - 4} text-anchor="middle">
          {t("draw.lens", {n: showNumber(l.factor, l.factor < 1 ? 1 : 0)})}</text>}
        {narrow && <text class="faint" x={middle} y={lensY + radius + 84} text-anchor="middle">
          {t("draw.lens", {n: showNumber(l.factor, l.factor < 1 ? 1 : 0)})}</text>}
        <line class="axis" x1={4} x2={w - 4} y1={axis} y2={axis} />
        {[l.upperFace - post, l.lowerFace].map((x) => (
          <path class="post" key={x} d={`M${x} ${axis + 26} V${axis - tube - 4} q${post / 2} -10 ${post} 0 V${axis + 26} l${-post / 2} 6 Z`} />
        ))}
        <rect class="key-metal" x={l.keyFrom} y={axis - tube} width={Math.max(0, l.keyTo - l.keyFrom)} height={2 * tube} rx="2" />
        {[[l.upperFace, 1], [l.lowerFace, -1]].map(([x = 0, way = 1]) => (
          <path class="point" key={x} d={`M${x} ${axis - tube * 0.6} L${x + way * tube * 1.7} ${axis - 2} V${axis + 2} L${x} ${axis + tube * 0.6}`} />
        ))}
        <text class="say" x={middle} y={narrow ? axis + 66 : axis - tube - 8} text-anchor="middle">
          {t("draw.key", {length: showLength(strip.keyLength)})}{narrow ? null : ", "}
          <tspan x={narrow ? middle : undefined} dy={narrow ? "1.2em" : undefined}>{t("draw.between", {span: showLength(strip.span)})}</tspan></text>
        {padX !== null && (
          <g>
            <line class="arm" x1={padX} x2={padX} y1={axis + tube} y2={axis + 26} />
            <rect class="cup" x={padX - (strip.toneHole / 2 + 1) * l.scale} y={axis + 26} width={(strip.toneHole + 2) * l.scale} height="7" rx="3" />
            <rect class="pad" x={padX - (strip.toneHole / 2 + 0.6) * l.scale} y={axis + 33} width={(strip.toneHole + 1.2) * l.scale} height="5" />
            {strip.padGap !== null && <text class="say" x={narrow ? middle : Math.min(Math.max(padX, w * 0.35), w * 0.65)} y={narrow ? axis + 100 : axis + 62}
              text-anchor="middle">{t("draw.pad", {gap: showLength(strip.padGap)})}</text>}
            <path class="hole" d={`M${padX - (strip.toneHole / 2) * l.scale} ${axis + 39} v7 M${padX + (strip.toneHole / 2) * l.scale} ${axis + 39} v7`} />
          </g>
        )}
        <g>
          <path class="bar" d={`M${w - 6 - barMm * l.scale} ${axis + 44} v5 h${barMm * l.scale} v-5`} />
          <text class="faint" x={w - 6} y={axis + 40} text-anchor="end">
            {`${showNumber(inUnit(barMm, unit), unit === "in" ? 1 : 0)}\u00a0${unit}`}</text>
        </g>
        <g class="gauge">
          <rect class="brass" x="4" y={gaugeY - 20} width={w - 8} height="60" rx="6" />
          <rect class="window" x={gx(strip.low)} y={gaugeY - 20} width={Math.max(1, gx(strip.high) - gx(strip.low))} height="26" />
          <line class="edge" x1="10" x2={w - 10} y1={gaugeY + 6} y2={gaugeY + 6} />
          {ticks.filter((_, i) => !narrow || i % 2 === 0 || ticks.length < 6).map((mm) => (
            <g key={mm}>
              <line class="tick" x1={gx(mm)} x2={gx(mm)} y1={gaugeY + 6} y2={gaugeY + 13} />
              <text class="engraved" x={Math.min(Math.max(gx(mm), 26), w - 26)} y={gaugeY + 29} text-anchor="middle">
                {showNumber(inUnit(mm, unit), Math.min(decimals(unit), 4))}</text>
            </g>
          ))}
          {strip.playDoubt > 0 && <line class="doubt" x1={gx(Math.max(l.gauge.from, strip.play - strip.playDoubt))}
            x2={gx(strip.play + strip.playDoubt)} y1={gaugeY - 8} y2={gaugeY - 8} />}
          {strip.after !== null && <path class="then" d={`M${gx(strip.after)} ${gaugeY + 5} l-6 -13 h12 Z`} />}
          <path class="now" d={`M${gx(strip.play)} ${gaugeY + 5} l-7 -15 h14 Z`} />
          <text class="say" x="8" y={narrow ? gaugeY - 46 : gaugeY - 26}>{`${t("draw.play")} ${showLength(strip.play)}`}</text>
          <text class="say" x={narrow ? 8 : w - 8} y={gaugeY - 26} text-anchor={narrow ? "start" : "end"}>
            {`${t("draw.window")} ${bareLength(strip.low)} ${t("to")} ${showLength(strip.high)}`}</text>
        </g>
      </svg>
    </div>
  );
}
