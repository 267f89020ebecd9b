/** Opens an instrument from its tag: by the camera where the browser reads codes, by what is typed anywhere. */
import {useEffect, useRef, useState} from "preact/hooks";
import {Trouble, get} from "../api/client";
import {go, ofTag} from "../route";
import {t} from "../words/words";

interface Detector {
  detect(from: HTMLVideoElement): Promise<{rawValue: string}[]>;
}
type MakesDetectors = new (options: {formats: string[]}) => Detector;
const detectors = (): MakesDetectors | undefined => (globalThis as {BarcodeDetector?: MakesDetectors}).BarcodeDetector;

export function Scan() {
  const video = useRef<HTMLVideoElement>(null);
  const [looks, look] = useState(false);
  const [typed, setTyped] = useState("");
  const [why, setWhy] = useState("");
  const canLook = detectors() !== undefined && navigator.mediaDevices !== undefined;
  const open = async (text: string) => {
    const visit = ofTag(text);
    if (!visit) {
      setWhy(t("scan.no-tag"));
      return false;
    }
    try {
      await get(`/api/visits/${visit}`);
      go({visit});
      return true;
    } catch (error) {
      setWhy(error instanceof Trouble && error.status === 404 ? t("scan.not-here") : t("trouble.away"));
      return false;
    }
  };
  useEffect(() => {
    const Detects = detectors();
    if (!looks || !Detects) return undefined;
    let stream: MediaStream | null = null;
    let timer: ReturnType<typeof setTimeout> | undefined;
    let ended = false;
    const detector = new Detects({formats: ["qr_code"]});
    const step = async () => {
      if (ended || !video.current) return;
      const codes = await detector.detect(video.current).catch(() => []);
      const tag = codes.find((c) => ofTag(c.rawValue));
      if (tag && (await open(tag.rawValue))) return;
      timer = setTimeout(() => void step(), 250);
    };
    navigator.mediaDevices.getUserMedia({video: {facingMode: "environment"}}).then(async (s) => {
      stream = s;
      if (ended || !video.current) return s.getTracks().forEach((x) => x.stop());
      video.current.srcObject = s;
      await video.current.play();
      void step();
    }, () => {
      setWhy(t("scan.no-camera"));
      look(false);
    });
    return () => {
      ended = true;
      clearTimeout(timer);
      stream?.getTracks().forEach((x) => x.stop());
    };
  }, [looks]);
  return (
    <>
      <p>{t("scan.say")}</p>
      {canLook ? <button type="button" class="main-do" onClick={() => look(!looks)}>{t(looks ? "scan.stop" : "scan.start")}</button> : <p class="faint-words">{t("scan.cannot")}</p>}
      {looks && <video ref={video} class="scan" playsInline muted aria-label={t("scan.picture")} />}
      <form class="choice-row" onSubmit={(e) => {
        e.preventDefault();
        void open(typed);
      }}>
        <label class="grow">{t("scan.type")}<input value={typed} autocomplete="off" spellcheck={false} required onInput={(e) => { setTyped(e.currentTarget.value); setWhy(""); }} /></label>
        <button>{t("scan.open")}</button>
      </form>
      {why && <p class="trouble" role="alert">{why}</p>}
    </>
  );
}
