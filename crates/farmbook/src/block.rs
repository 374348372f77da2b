use crate::change::Table;
use crate::row::{get, json, to_json, to_word, word};
use crate::{Book, Error, Id, Result, Shape, valid};
use agronomy::texture::Texture;
use rusqlite::types::Value as Sql;
use rusqlite::{Row, params};
use serde::{Deserialize, Serialize};

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BlockKind {
    Field,
    Tunnel,
    RaisedBed,
    Perennial,
}

impl BlockKind {
    pub const ALL: [Self; 4] = [Self::Field, Self::Tunnel, Self::RaisedBed, Self::Perennial];

    pub fn key(self) -> &'static str {
        match self {
            Self::Field => "field",
            Self::Tunnel => "tunnel",
            Self::RaisedBed => "raised_bed",
            Self::Perennial => "perennial",
        }
    }

    pub fn from_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|k| k.key() == key)
    }

    pub fn name(self) -> &'static str {
        match self {
            Self::Field => "Field",
            Self::Tunnel => "High tunnel",
            Self::RaisedBed => "Raised bed",
            Self::Perennial => "Perennials",
        }
    }
}

/// A piece of ground that is sampled, fed and cropped as one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Block {
    /// Given by the book; 0 before that.
    pub id: Id,
    /// Unique among the blocks in use; capitals and small letters count as the same.
    pub name: String,
    pub kind: BlockKind,
    pub shape: Shape,
    pub texture: Option<Texture>,
    /// Depth worked, inches.
    pub depth_in: f64,
    /// Whether the soil fizzes with vinegar.
    pub free_lime: Option<bool>,
    /// Cores mixed into one sample; none where nobody said.
    pub cores: Option<u32>,
    /// Other names under which its samples come back from the lab.
    pub aliases: Vec<String>,
    pub note: String,
    /// Out of use; its records stay.
    pub archived: bool,
}

/// What became of a block that was taken out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Removal {
    /// It had no records and is gone.
    Deleted,
    /// It has records and was put away with them.
    Archived,
}

impl Block {
    /// A block with nothing known but its ground. 6 2/3 inches is the layer that weighs 2 million lb
    /// per acre, to which labs and tables refer unless they say otherwise.
    pub fn new(name: impl Into<String>, kind: BlockKind, shape: Shape) -> Self {
        Self {
            id: 0,
            name: name.into(),
            kind,
            shape,
            texture: None,
            depth_in: 20.0 / 3.0,
            free_lime: None,
            cores: None,
            aliases: Vec::new(),
            note: String::new(),
            archived: false,
        }
    }

    fn fields(&self) -> Result<Vec<(&'static str, Sql)>> {
        let name = valid::name("The block’s name", &self.name)?;
        self.shape.check()?;
        valid::positive("The depth worked", self.depth_in, 60.0, "inches")?;
        if let Some(cores) = self.cores {
            valid::positive("The cores to a sample", f64::from(cores), 1000.0, "")?;
        }
        let mut aliases: Vec<String> = Vec::new();
        for alias in &self.aliases {
            let alias = valid::name("A name on boxes", alias)?;
            let same = |other: &String| valid::key(other) == valid::key(&alias);
            if !same(&name) && !aliases.iter().any(same) {
                aliases.push(alias);
            }
        }
        Ok(vec![
            ("name_key", valid::key(&name).into()),
            ("name", name.into()),
            ("kind", self.kind.key().to_owned().into()),
            ("shape", to_json(&self.shape)?.into()),
            (
                "texture",
                self.texture.as_ref().map(to_word).transpose()?.into(),
            ),
            ("depth_in", self.depth_in.into()),
            ("free_lime", self.free_lime.map(i64::from).into()),
            ("cores", self.cores.map(i64::from).into()),
            ("aliases", to_json(&aliases)?.into()),
            ("note", valid::note("The note", &self.note)?.into()),
            ("archived", self.archived.into()),
        ])
    }

    /// The names by which a sample can mean this block, in comparable form.
    fn keys(&self) -> impl Iterator<Item = String> {
        std::iter::once(&self.name)
            .chain(&self.aliases)
            .map(|n| valid::key(n))
    }
}

fn read(row: &Row<'_>) -> Result<Block> {
    Ok(Block {
        id: get(row, "id")?,
        name: get(row, "name")?,
        kind: word(&get::<String>(row, "kind")?, "block.kind")?,
        shape: json(row, "shape")?,
        texture: get::<Option<String>>(row, "texture")?
            .map(|t| word(&t, "block.texture"))
            .transpose()?,
        depth_in: get(row, "depth_in")?,
        free_lime: get(row, "free_lime")?,
        cores: get(row, "cores")?,
        aliases: json(row, "aliases")?,
        note: get(row, "note")?,
        archived: get(row, "archived")?,
    })
}

impl Book {
    /// Adds a block and gives its number. `block.id` is not looked at.
    pub fn add_block(&mut self, block: &Block) -> Result<Id> {
        let fields = block.fields()?;
        self.change(&format!("Added block “{}”", block.name.trim()), |book| {
            book.names_are_free(block, None)?;
            book.insert(Table::Block, &fields)
        })
    }

    pub fn change_block(&mut self, block: &Block) -> Result<()> {
        let fields = block.fields()?;
        self.change(
            &format!("Changed block “{}”", block.name.trim()),
            |book| {
                book.block(block.id)?;
                book.names_are_free(block, Some(block.id))?;
                book.update(Table::Block, block.id, &fields)
            },
        )
    }

    /// Deletes a block that has no plantings, tests, locks or plans; archives it otherwise.
    pub fn remove_block(&mut self, id: Id) -> Result<Removal> {
        let name = self.block(id)?.name;
        self.change(&format!("Took out block “{name}”"), |book| {
            if book.block_has_records(id)? {
                book.update(Table::Block, id, &[("archived", true.into())])?;
                return Ok(Removal::Archived);
            }
            book.forget_refusals(id)?;
            book.forget_outline(id)?;
            book.forget_ground_note(id)?;
            book.forget_learned_choices(id)?;
            book.delete(Table::Block, id)?;
            Ok(Removal::Deleted)
        })
    }

    fn block_has_records(&self, id: Id) -> Result<bool> {
        // A plan is kept as one document, so any plan saved since the block was added may name it.
        let sql = "SELECT EXISTS (SELECT 1 FROM planting WHERE block_id = ?1)
             OR EXISTS (SELECT 1 FROM soil_test WHERE block_id = ?1)
             OR EXISTS (SELECT 1 FROM plan_lock WHERE block_id = ?1)
             OR EXISTS (SELECT 1 FROM sample_box WHERE block_id = ?1)
             OR EXISTS (SELECT 1 FROM block_parent WHERE ?1 IN (block_id, parent_id))
             OR EXISTS (SELECT 1 FROM earlier_outline WHERE block_id = ?1)
             OR EXISTS (SELECT 1 FROM spread WHERE block_id = ?1)
             OR EXISTS (SELECT 1 FROM harvest WHERE block_id = ?1)
             OR EXISTS (SELECT 1 FROM sample_box b, json_each(b.parts) p
                WHERE p.value ->> 'block' = ?1)
             OR EXISTS (SELECT 1 FROM entry WHERE tbl = 'season_plan' AND after IS NOT NULL
                AND id > (SELECT max(id) FROM entry
                          WHERE tbl = 'block' AND row_id = ?1 AND before IS NULL))";
        Ok(self
            .first(sql, [id], |row| Ok(row.get::<_, bool>(0)?))?
            .unwrap_or(true))
    }

    /// A sample must mean one block: no name or alias may stand for two blocks in use.
    fn names_are_free(&self, block: &Block, own: Option<Id>) -> Result<()> {
        if block.archived {
            return Ok(());
        }
        let names = || std::iter::once(&block.name).chain(&block.aliases);
        let by_name = "SELECT name FROM block
             WHERE archived = 0 AND name_key = ?1 AND id IS NOT ?2";
        for (place, name) in names().enumerate() {
            let taken = self.first(by_name, params![valid::key(name), own], |row| {
                get::<String>(row, "name")
            })?;
            if let Some(other) = taken {
                return Err(match place {
                    0 => Error::NameTaken(other),
                    _ => Error::AliasTaken {
                        name: name.trim().to_owned(),
                        block: other,
                    },
                });
            }
        }
        for other in self.blocks_with_aliases()? {
            if Some(other.id) == own {
                continue;
            }
            let taken = names().find(|name| other.keys().any(|k| k == valid::key(name)));
            if let Some(name) = taken {
                return Err(Error::AliasTaken {
                    name: name.trim().to_owned(),
                    block: other.name,
                });
            }
        }
        Ok(())
    }

    fn blocks_with_aliases(&self) -> Result<Vec<Block>> {
        let sql = "SELECT * FROM block WHERE archived = 0 AND aliases <> '[]' ORDER BY id";
        self.list(sql, [], read)
    }

    /// The blocks in use, by name.
    pub fn blocks(&self) -> Result<Vec<Block>> {
        let sql = "SELECT * FROM block WHERE archived = 0 ORDER BY name_key";
        self.list(sql, [], read)
    }

    /// All blocks, those put away too, by name.
    pub fn all_blocks(&self) -> Result<Vec<Block>> {
        let sql = "SELECT * FROM block ORDER BY name_key, id";
        self.list(sql, [], read)
    }

    /// A block by number, in use or put away.
    pub fn block(&self, id: Id) -> Result<Block> {
        self.first("SELECT * FROM block WHERE id = ?1", [id], read)?
            .ok_or_else(|| Error::not_found("block with number", id))
    }

    /// The block in use that goes by a name or by one of its names on boxes.
    pub fn block_by_name(&self, name: &str) -> Result<Option<Block>> {
        let key = valid::key(name);
        let sql = "SELECT * FROM block WHERE archived = 0 AND name_key = ?1";
        if let Some(block) = self.first(sql, params![key], read)? {
            return Ok(Some(block));
        }
        Ok(self
            .blocks_with_aliases()?
            .into_iter()
            .find(|b| b.keys().any(|other| other == key)))
    }
}
