// Reads a code with the camera and puts it into the form. Without it, or without a camera, the form is typed into as ever.
const { BarcodeDetector, prepareZXingModule } = globalThis.BarcodeDetectionAPI; // vendor/barcode-detector

const form = document.querySelector("form[data-camera]");
const field = form.querySelector("input[name=code]");
const says = document.querySelector("[data-camera-says]");
const video = document.querySelector("video[data-camera-view]");
const start = document.querySelector("button[data-camera-start]");
const FORMATS = ["data_matrix", "qr_code", "code_128", "ean_13", "ean_8", "upc_a"];

prepareZXingModule({ overrides: { locateFile: (path, prefix) => (path.endsWith(".wasm") ? video.dataset.reader : prefix + path) } });

const say = (what) => { says.textContent = says.dataset[what]; };

async function look() {
  start.disabled = true;
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" }, audio: false });
  } catch (refused) {
    start.disabled = false;
    say("refused");
    return;
  }
  video.srcObject = stream;
  video.hidden = false;
  await video.play();
  say("hold");
  const detector = new BarcodeDetector({ formats: FORMATS });
  const end = () => { stream.getTracks().forEach((track) => track.stop()); };
  addEventListener("pagehide", end);
  const again = async () => {
    let found = [];
    try {
      found = await detector.detect(video);
    } catch (failed) {
      end();
      say("failed");
      return;
    }
    if (found.length) {
      end();
      // A symbol that begins with FNC1 is a GS1 one; the form's reader knows it by the separator in front. A field
      // of a form takes no control characters through every browser, so it is written out.
      field.value = found[0].rawValue.replaceAll("\u001d", "<GS>");
      form.requestSubmit();
      return;
    }
    setTimeout(again, 120);
  };
  again();
}

if (navigator.mediaDevices && navigator.mediaDevices.getUserMedia) {
  start.hidden = false;
  start.addEventListener("click", look);
} else {
  say("absent");
}
