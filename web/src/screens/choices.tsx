/** What a person chooses for this device. */
import {choices, choose, Choices, ofShop, paperOf} from "../units/choices";
import {t} from "../words/words";

/** Names by which languages and papers go everywhere. */
const languages: [Choices["language"], string][] = [["en", "English"], ["de", "Deutsch"]];
const papers: Choices["paper"][] = ["A4", "Letter"];

export function ChoicesScreen() {
  const c = choices.value;
  // Newer than the language's own types know it.
  const intl = Intl as typeof Intl & {supportedValuesOf?: (of: string) => string[]};
  const zones = intl.supportedValuesOf?.("timeZone") ?? [];
  return (
    <form class="sheet narrow" onSubmit={(e) => e.preventDefault()}>
      <h1>{t("choices")}</h1>
      <p class="faint-words">{t("choice.say")}</p>
      <label>{t("choice.language")}<select value={c.language} onChange={(e) => choose({language: e.currentTarget.value as Choices["language"]})}>
        {languages.map(([code, name]) => <option key={code} value={code} lang={code}>{name}</option>)}</select></label>
      <label>{t("choice.unit")}<select value={c.unit} onChange={(e) => choose({unit: e.currentTarget.value as Choices["unit"]})}>
        <option value="mm">{t("choice.unit.mm")}</option><option value="in">{t("choice.unit.in")}</option><option value="thou">{t("choice.unit.thou")}</option></select></label>
      <label>{t("choice.decimal")}<select value={c.comma ? "comma" : "point"} onChange={(e) => choose({comma: e.currentTarget.value === "comma"})}>
        <option value="point">{t("choice.decimal.point")}</option><option value="comma">{t("choice.decimal.comma")}</option></select></label>
      <label>{t("choice.zone")}<select value={c.zone} onChange={(e) => choose({zone: e.currentTarget.value})}>
        <option value="">{t("choice.of-shop", {what: ofShop.value.time_zone || t("choice.unsaid")})}</option><option value="device">{t("choice.zone.device")}</option>{zones.map((z) => <option key={z} value={z}>{z}</option>)}</select></label>
      <label>{t("choice.paper")}<select value={c.paper} onChange={(e) => choose({paper: e.currentTarget.value as Choices["paper"]})}>
        <option value="">{t("choice.of-shop", {what: ofShop.value.paper ? paperOf({...c, paper: ""}) : t("choice.unsaid")})}</option>{papers.map((p) => <option key={p} value={p}>{p}</option>)}</select></label>
      <label>{t("choice.light")}<select value={c.light} onChange={(e) => choose({light: e.currentTarget.value as Choices["light"]})}>
        <option value="device">{t("choice.light.device")}</option><option value="light">{t("choice.light.light")}</option><option value="dark">{t("choice.light.dark")}</option></select></label>
    </form>
  );
}
