// A picture from a file that somebody chose, decoded on this device and upright as its camera says. It is drawn from
// memory alone: no address is made for it, so that nothing on the page or outside can ask for it.

export const MOST_BYTES = 60_000_000;
export const MOST_SIDE = 4096; // pixels: more than any screen shows, and what a tablet's memory bears

export class PictureError extends Error {}

/** Return an ImageBitmap; throws a PictureError that says in a sentence what is wrong. */
export async function decoded(file) {
  if (!file.size) throw new PictureError("This file is empty. Choose another one.");
  if (file.size > MOST_BYTES) throw new PictureError("This file has more than 60 MB. Choose a smaller picture.");
  // Upright is what a browser makes of it by itself; older ones know no word for that and would refuse the file.
  const bitmap = await createImageBitmap(file).catch(() => {
    throw new PictureError("This file cannot be read as a picture. Choose a JPEG, PNG or WebP file.");
  });
  return shrunk(bitmap);
}

async function shrunk(bitmap) {
  const share = MOST_SIDE / Math.max(bitmap.width, bitmap.height);
  if (share >= 1) return bitmap;
  const size = { resizeWidth: Math.round(bitmap.width * share), resizeHeight: Math.round(bitmap.height * share) };
  const smaller = await createImageBitmap(bitmap, { ...size, resizeQuality: "high" });
  bitmap.close();
  return smaller;
}
