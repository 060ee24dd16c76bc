// What the page stands for, as one line: in the address, in a request, on a bookmark.
// A scenario's text is packed small for the address, and plain in a request.

async function through(bytes, stream) {
  const piped = new Blob([bytes]).stream().pipeThrough(stream);
  return new Uint8Array(await new Response(piped).arrayBuffer());
}

async function pack(text) {
  const bytes = await through(new TextEncoder().encode(text), new CompressionStream("deflate-raw"));
  const letters = Array.from(bytes, (b) => String.fromCharCode(b)).join("");
  return btoa(letters).replaceAll("+", "-").replaceAll("/", "_").replaceAll("=", "");
}

async function unpack(packed) {
  const letters = atob(packed.replaceAll("-", "+").replaceAll("_", "/"));
  const bytes = Uint8Array.from(letters, (c) => c.charCodeAt(0));
  return new TextDecoder().decode(await through(bytes, new DecompressionStream("deflate-raw")));
}

// The state and the pinned state in the address; nothing where the address is bare.
export async function read() {
  const line = location.hash.slice(1);
  if (!line) return null;
  const now = new URLSearchParams(line);
  const pinned = now.get("pin");
  now.delete("pin");
  if (now.has("packed")) {
    try {
      now.set("text", await unpack(now.get("packed")));
    } catch {
      now.delete("text");
    }
    now.delete("packed");
  }
  return { now, pinned: pinned === null ? null : new URLSearchParams(pinned) };
}

export async function written({ now, pinned }) {
  const line = new URLSearchParams(now);
  if (line.has("text")) {
    line.set("packed", await pack(line.get("text")));
    line.delete("text");
  }
  if (pinned) {
    // The pinned state is of the same tank, so its text need not stand there twice.
    const other = new URLSearchParams(pinned);
    other.delete("text");
    line.set("pin", other.toString());
  }
  return "#" + line.toString();
}

// The body of a request: width, state, pinned state; then the text of the file that both come from, as it is.
export function body({ now, pinned }, width, moving) {
  const bare = (state) => {
    const line = new URLSearchParams(state ?? "");
    line.delete("text");
    return line;
  };
  return `width=${width}${moving ? " moving" : ""}\n${bare(now)}\n${bare(pinned)}\n${now.get("text") ?? ""}`;
}
