//! Which meshes a glTF scene shows, and where.

use glam::{DAffine3, DMat3, DQuat, DVec3};

use super::super::fault::Fault;
use super::document::{Document, Node};

/// Deepest chain of nodes.
const DEEPEST: usize = 512;

/// One mesh as the scene shows it.
pub(super) struct Instance {
    pub(super) mesh: usize,
    pub(super) scene_from_mesh: DAffine3,
}

/// The meshes of the file's scene in the order of its tree.
///
/// The scene is the one that the file names, or its first. Without scenes it is
/// all nodes, without nodes all meshes.
pub(super) fn instances(
    document: &Document,
    notes: &mut Vec<String>,
) -> Result<Vec<Instance>, Fault> {
    if document.nodes.is_empty() {
        return Ok((0..document.meshes.len())
            .map(|mesh| Instance {
                mesh,
                scene_from_mesh: DAffine3::IDENTITY,
            })
            .collect());
    }
    let mut visited = vec![false; document.nodes.len()];
    let mut instances = Vec::new();
    let mut open: Vec<(usize, usize, DAffine3)> = roots(document)?
        .into_iter()
        .rev()
        .map(|node| (node, 1, DAffine3::IDENTITY))
        .collect();
    let mut n_skinned = 0;
    while let Some((index, depth, scene_from_parent)) = open.pop() {
        let Some(node) = document.nodes.get(index) else {
            return Err(Fault::whole(format!("there is no node {index}")));
        };
        if std::mem::replace(&mut visited[index], true) {
            return Err(Fault::whole(format!(
                "node {index} is reached twice: the nodes are not a tree"
            )));
        }
        if depth > DEEPEST {
            return Err(Fault::whole(format!(
                "nodes are nested more than {DEEPEST} deep"
            )));
        }
        let scene_from_node = scene_from_parent * parent_from_node(index, node)?;
        if !scene_from_node.is_finite() {
            return Err(Fault::whole(format!(
                "node {index} is moved out of all bounds"
            )));
        }
        if let Some(mesh) = node.mesh {
            n_skinned += usize::from(node.skin.is_some());
            instances.push(Instance {
                mesh,
                scene_from_mesh: scene_from_node,
            });
        }
        open.extend(
            node.children
                .iter()
                .rev()
                .map(|&child| (child, depth + 1, scene_from_node)),
        );
    }
    if n_skinned > 0 {
        notes.push(format!(
            "{n_skinned} meshes have a skin; their bones were not applied"
        ));
    }
    Ok(instances)
}

/// Nodes that the scene's tree grows from.
fn roots(document: &Document) -> Result<Vec<usize>, Fault> {
    if let Some(scene) = document.scenes.get(document.scene.unwrap_or(0)) {
        return Ok(scene.nodes.clone());
    }
    if let Some(scene) = document.scene {
        return Err(Fault::whole(format!("there is no scene {scene}")));
    }
    let mut is_child = vec![false; document.nodes.len()];
    for &child in document.nodes.iter().flat_map(|node| &node.children) {
        if let Some(is_child) = is_child.get_mut(child) {
            *is_child = true;
        }
    }
    let roots: Vec<usize> = (0..is_child.len()).filter(|&i| !is_child[i]).collect();
    if roots.is_empty() {
        return Err(Fault::whole("every node is the child of another"));
    }
    Ok(roots)
}

/// A node's own transform.
fn parent_from_node(index: usize, node: &Node) -> Result<DAffine3, Fault> {
    let bad = |what: &str| Fault::whole(format!("node {index} {what}"));
    if let Some(matrix) = &node.matrix {
        let [a, b, c, d] =
            [0, 4, 8, 12].map(|i| DVec3::new(matrix[i], matrix[i + 1], matrix[i + 2]));
        let bottom = [matrix[3], matrix[7], matrix[11], matrix[15]];
        if bottom
            .iter()
            .zip([0.0, 0.0, 0.0, 1.0])
            .any(|(got, want)| (got - want).abs() > 1e-6)
        {
            return Err(bad("has a matrix that distorts like a perspective"));
        }
        return Ok(DAffine3::from_mat3_translation(
            DMat3::from_cols(a, b, c),
            d,
        ));
    }
    let translation = node
        .translation
        .as_deref()
        .map_or(DVec3::ZERO, |&t| t.into());
    let scale = node.scale.as_deref().map_or(DVec3::ONE, |&s| s.into());
    let rotation = match node.rotation.as_deref() {
        None => DQuat::IDENTITY,
        Some(&rotation) => {
            let quaternion = DQuat::from_array(rotation);
            let length = quaternion.length();
            if !(0.5..2.0).contains(&length) {
                return Err(bad("has a rotation that is not a unit quaternion"));
            }
            quaternion / length
        }
    };
    Ok(DAffine3::from_scale_rotation_translation(
        scale,
        rotation,
        translation,
    ))
}
