// A photo to work on, as large as it can be had: from the phone, else from the server. For a component's beginning:
//   const picture = new WholePicture(() => sha256);      picture.url (null until found) · picture.missing

import { db } from "../../db";
import { pictureFetched, pictureKept } from "../../sync/largePhotos";
import { session } from "../../sync/session.svelte";

export class WholePicture {
  url = $state<string | null>(null);
  missing = $state(false);

  constructor(sha256: () => string) {
    $effect(() => {
      const [production, photo] = [session.chosen, sha256()];
      let mine: string | null = null;
      let gone = false;
      const find = async (): Promise<void> => {
        if (!production) return;
        const picture = (await pictureKept(db, production, photo)) ?? (await pictureFetched(db, production, photo));
        if (gone) return;
        if (picture) this.url = mine = URL.createObjectURL(picture.blob);
        else this.missing = true;
      };
      void find();
      return () => {
        gone = true;
        this.url = null;
        this.missing = false;
        if (mine) URL.revokeObjectURL(mine);
      };
    });
  }
}
