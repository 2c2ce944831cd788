/** A figure as a PNG at twice its size, drawn by the browser. */
const scale = 2;

export async function pngOf(svg: string): Promise<Blob> {
  const address = URL.createObjectURL(new Blob([svg], { type: 'image/svg+xml' }));
  try {
    const image = new Image();
    image.src = address;
    await image.decode();
    const canvas = document.createElement('canvas');
    canvas.width = scale * image.naturalWidth;
    canvas.height = scale * image.naturalHeight;
    canvas.getContext('2d')?.drawImage(image, 0, 0, canvas.width, canvas.height);
    return await new Promise<Blob>((resolve, reject) =>
      canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error('no PNG was made'))), 'image/png'),
    );
  } finally {
    URL.revokeObjectURL(address);
  }
}
