// What a passkey's options and answers look like on the way to the browser and back.
import assert from "node:assert/strict";
import test from "node:test";
import { creationOptions, requestOptions, sentenceFor, toBytes, toText, told } from "../../gymtrack/static/js/passkeys.js";

// RFC 4648, section 10, and the two signs of section 5 in which the alphabet for addresses differs.
test("bytes and base64url say the same", () => {
  for (const [plain, text] of [["", ""], ["f", "Zg"], ["fo", "Zm8"], ["foo", "Zm9v"], ["foob", "Zm9vYg"], ["foobar", "Zm9vYmFy"]]) {
    assert.equal(toText(new TextEncoder().encode(plain)), text);
    assert.equal(new TextDecoder().decode(toBytes(text)), plain);
  }
  assert.equal(toText(new Uint8Array([0xfb, 0xff, 0xbf])), "-_-_");
  assert.deepEqual([...toBytes("-_-_")], [0xfb, 0xff, 0xbf]);
});

const MADE = { challenge: "Zm9v", user: { id: "Zg", name: "c" }, rp: { id: "localhost" }, authenticatorSelection: { userVerification: "preferred" } };

test("a passkey that signs in alone must ask for the device's lock", () => {
  const { publicKey } = creationOptions({ publicKey: { ...MADE, excludeCredentials: [{ type: "public-key", id: "Zm8" }] } }, true);
  assert.deepEqual([...publicKey.challenge], [102, 111, 111]);
  assert.deepEqual([...publicKey.user.id], [102]);
  assert.deepEqual([...publicKey.excludeCredentials[0].id], [102, 111]);
  assert.deepEqual(publicKey.authenticatorSelection, { userVerification: "required", residentKey: "required", requireResidentKey: true });
  assert.equal(publicKey.rp.id, "localhost");
});

test("one beside the password keeps what the server asks for", () => {
  const { publicKey } = creationOptions({ publicKey: MADE }, false);
  assert.deepEqual(publicKey.authenticatorSelection, { userVerification: "preferred" });
  assert.deepEqual(publicKey.excludeCredentials, []);
});

test("a question has its challenge and keys in bytes", () => {
  const { publicKey } = requestOptions({ publicKey: { challenge: "Zg", allowCredentials: [{ type: "public-key", id: "Zm9v" }], rpId: "x" } });
  assert.deepEqual([[...publicKey.challenge], [...publicKey.allowCredentials[0].id], publicKey.rpId], [[102], [102, 111, 111], "x"]);
});

test("an answer is told with the parts that it has", () => {
  const bytes = new Uint8Array([1, 2]).buffer;
  const said = told({ id: "AQI", rawId: bytes, type: "public-key", getClientExtensionResults: () => ({}), response: { clientDataJSON: bytes, signature: bytes, userHandle: null } });
  assert.deepEqual(said, {
    id: "AQI", rawId: "AQI", type: "public-key", authenticatorAttachment: null, clientExtensionResults: {},
    response: { clientDataJSON: "AQI", signature: "AQI" },
  });
});

test("each way to fail has its sentence", () => {
  const names = ["NotAllowedError", "InvalidStateError", "SecurityError", "NoAnswer", "anything"];
  assert.equal(new Set(names.map(sentenceFor)).size, names.length);
});
